"""What the loops play, one file a set. `LOOPS` has all of them by name, in the order of the catalog."""

from demo_loops.making.loop import Loop
from demo_loops.making.scores import ferry_town, market_morning, old_carousel, strangers

LOOPS: dict[str, Loop] = {
    loop.name: loop for part in (ferry_town, market_morning, old_carousel, strangers) for loop in part.LOOPS
}
