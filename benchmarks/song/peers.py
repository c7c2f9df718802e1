"""The same song by other means: each way is a command that is given the place of the song.

For ffmpeg and sox that is a shell script made from the song, as one would type it. For pydub and numpy
it is a script in `scripts/`. What is not installed is left out.
"""

from __future__ import annotations

import importlib.util
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

from benchmarks.song.songs import LOOP_BARS, RATE_HZ, Layer, Play, Song

Command = Callable[[Path], list[str]]
SCRIPTS = Path(__file__).parent / "scripts"
TARGET_LUFS, CEILING_DBTP = -16, -1
# sox knows no loudness: its layers are set by their peaks, in the same order of loudness.
SOX_PEAK_DB = {"drums": -8, "bass": -10, "harmony": -12, "melody": -10}
FFMPEG = "ffmpeg -nostdin -hide_banner -y"
_HEAD = "#!/bin/bash\nset -eo pipefail\n"
_INTEGRATED = "awk '/Integrated loudness/{f=1} f&&/I:/{v=$2} END{print v}'"


def peers(song: Song, loops: Path, folder: Path) -> dict[str, Command]:
    """Name and command of every peer found here; their scripts go into `folder`."""
    written = song.written(folder, loops)
    found: dict[str, Command] = {}
    if shutil.which("ffmpeg"):
        found["ffmpeg, two-pass loudnorm"] = _shell(folder / "loudnorm.sh", _loudnorm(song, loops))
        found["ffmpeg, ebur128 + alimiter"] = _shell(folder / "alimiter.sh", _alimiter(song, loops))
    if shutil.which("sox"):
        found["sox"] = _shell(folder / "sox.sh", _sox(song, loops))
    if importlib.util.find_spec("pydub") and shutil.which("ffmpeg"):
        found["pydub + atempo"] = _python("pydub_song.py", written)
    if all(importlib.util.find_spec(name) for name in ("python_stretch", "pyloudnorm")):
        found["numpy, the obvious way"] = _python("numpy_song.py", written)
    return found


def _shell(file: Path, text: str) -> Command:
    file.write_text(text, encoding="utf-8")
    return lambda out: ["bash", str(file), str(out)]


def _python(name: str, song: Path) -> Command:
    return lambda out: [sys.executable, str(SCRIPTS / name), str(song), str(out)]


def _frames(song: Song, bars: float) -> int:
    return round(bars * song.bar_frames)


def _inputs(song: Song, loops: Path) -> str:
    return " ".join(f"-i {loops}/{layer.loop}.wav" for layer in song.layers)


def _gains(song: Song, loops: Path) -> str:
    """Shell lines that measure each loop and give its gain as G0, G1 ..."""
    lines = []
    for number, layer in enumerate(song.layers):
        measured = f"{FFMPEG} -i {loops}/{layer.loop}.wav -af ebur128=framelog=verbose -f null - 2>&1 | {_INTEGRATED}"
        lines.append(f"G{number}=$(awk -v t={layer.level_lufs} -v i=$({measured}) 'BEGIN{{printf \"%.3f\",t-i}}')")
    return "\n".join(lines) + "\n"


def _graph(song: Song) -> str:
    """ffmpeg's filter graph up to the mix."""
    length = _frames(song, LOOP_BARS)
    lines, ends = [], []
    for number, layer in enumerate(song.layers):
        tempo = f"atempo={song.ratio:.9f}," if song.ratio != 1 else ""
        fitted = f"{tempo}apad=whole_len={length},atrim=end_sample={length},volume=${{G{number}}}dB"
        pan = f",stereotools=balance_out={layer.pan}" if layer.pan else ""
        names = [f"[s{number}_{each}]" for each in range(len(layer.plays))]
        split = f",asplit={len(names)}" if len(names) > 1 else ""
        lines.append(f"[{number}:a]{fitted}{pan},aloop=loop=-1:size={length}{split}{''.join(names)}")
        for name, play in zip(names, layer.plays, strict=True):
            ends.append(name.replace("s", "e", 1))
            lines.append(f"{name}{_play(song, play)}{ends[-1]}")
    mix = f"amix=inputs={len(ends)}:normalize=0:duration=longest,atrim=end_sample={_frames(song, song.bars)}"
    return ";\n".join([*lines, "".join(ends) + mix])


def _play(song: Song, play: Play) -> str:
    bars = play.end - play.start
    steps = [f"atrim=end_sample={_frames(song, bars)}", "asetpts=N/SR/TB"]
    if play.fade_in:
        steps.append(f"afade=t=in:ss=0:ns={_frames(song, play.fade_in)}:curve=tri")
    if play.fade_out:
        start, length = _frames(song, bars - play.fade_out), _frames(song, play.fade_out)
        steps.append(f"afade=t=out:ss={start}:ns={length}:curve=tri")
    if play.start:
        steps.append(f"adelay=delays={_frames(song, play.start)}S:all=1")
    return ",".join(steps)


def _loudnorm(song: Song, loops: Path) -> str:
    asked = f"loudnorm=I={TARGET_LUFS}:TP={CEILING_DBTP}:LRA=11"
    measured = "measured_I=$(v input_i):measured_TP=$(v input_tp):measured_LRA=$(v input_lra)"
    measured += ":measured_thresh=$(v input_thresh):offset=$(v target_offset)"
    return (
        f'{_HEAD}{_gains(song, loops)}GRAPH="{_graph(song)}"\n'
        f'J=$({FFMPEG} {_inputs(song, loops)} -filter_complex "$GRAPH,{asked}:print_format=json" -f null - 2>&1'
        " | sed -n '/^{/,/^}/p')\n"
        'v(){ echo "$J" | sed -n "s/.*\\"$1\\" : \\"\\([^\\"]*\\)\\".*/\\1/p"; }\n'
        f"{FFMPEG} -v error {_inputs(song, loops)} "
        f'-filter_complex "$GRAPH,{asked}:{measured}:linear=true,aresample={RATE_HZ}" '
        f'-ar {RATE_HZ} -c:a pcm_s16le "$1"\n'
    )


def _alimiter(song: Song, loops: Path) -> str:
    limit = f"{10 ** (CEILING_DBTP / 20):.3f}"
    return (
        f'{_HEAD}{_gains(song, loops)}GRAPH="{_graph(song)}"\n'
        f'I=$({FFMPEG} {_inputs(song, loops)} -filter_complex "$GRAPH,ebur128=framelog=verbose" -f null - 2>&1'
        f" | {_INTEGRATED})\n"
        f"G=$(awk -v i=$I 'BEGIN{{printf \"%.3f\",{TARGET_LUFS}-i}}')\n"
        f'{FFMPEG} -v error {_inputs(song, loops)} -filter_complex "$GRAPH,volume=${{G}}dB,'
        f"alimiter=limit={limit}:level=disabled:attack=2:release=50,"
        f'aresample=osf=s16:dither_method=triangular" -ar {RATE_HZ} -c:a pcm_s16le "$1"\n'
    )


def _sox(song: Song, loops: Path) -> str:
    length = _frames(song, LOOP_BARS)
    lines = [f"{_HEAD}T=$(mktemp -d); trap 'rm -rf \"$T\"' EXIT", 'F="-e floating-point -b 32"']
    parts = []
    for number, layer in enumerate(song.layers):
        tempo = f"tempo -m {song.ratio:.9f} " if song.ratio != 1 else ""
        lines.append(
            f"sox -V1 {loops}/{layer.loop}.wav $F $T/l{number}.wav {tempo}gain -n {SOX_PEAK_DB[layer.role]}"
            f"{_sox_pan(layer)} pad 0 {length}s trim 0 {length}s"
        )
        for each, play in enumerate(layer.plays):
            parts.append(f"-v 1 $T/p{number}_{each}.wav")
            lines.append(_sox_play(song, play, f"$T/l{number}.wav", f"$T/p{number}_{each}.wav"))
    lines.append(f'sox -V1 -m {" ".join(parts)} -b 16 "$1" trim 0 {_frames(song, song.bars)}s gain -n {CEILING_DBTP}')
    return "\n".join(lines) + "\n"


def _sox_pan(layer: Layer) -> str:
    return f" remix 1v{min(1, 1 - layer.pan):.2f} 2v{min(1, 1 + layer.pan):.2f}" if layer.pan else ""


def _sox_play(song: Song, play: Play, loop: str, out: str) -> str:
    bars = play.end - play.start
    length = _frames(song, bars)
    fade = ""
    if play.fade_in or play.fade_out:
        fade_in, fade_out = _frames(song, play.fade_in), _frames(song, play.fade_out)
        fade = f" fade t {fade_in}s" + (f" {length}s {fade_out}s" if play.fade_out else "")
    pad = f" pad {_frames(song, play.start)}s 0" if play.start else ""
    repeats = -(-bars // LOOP_BARS) - 1
    return f"sox -V1 {loop} $F {out} repeat {repeats} trim 0 {length}s{fade}{pad}"
