"use strict";
// Two versions of a song in step: one is heard, and the listener goes to the other at the same section and bar.
// Both songs are decoded beforehand, so that the way from one to the other is without a gap (W3C, Web Audio API).
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const { words, sides } = data;
  const FADE_SECONDS = 0.03;
  const at = (id) => document.getElementById(id);
  const fill = (text, facts) => text.replace(/\{(\w+)\}/g, (_, name) => facts[name]);
  const parts = [at("old"), at("new")];
  let here = 0;
  let seconds = 0; // where it stands while nothing plays
  let playing = null;
  let together = null; // where both versions go out
  let buffers = null;

  const context = () => together.context;
  const position = () => (playing
    ? Math.min(sides[here].seconds, playing.from + Math.max(0, context().currentTime - playing.started))
    : seconds);

  // A bar counted from 1, and how far in it; what dies away after the last bar belongs to that.
  const barOf = (side, time) => {
    const bar = Math.min(sides[side].bars, Math.floor(time / sides[side].barSeconds + 1e-6) + 1);
    return { bar, part: time / sides[side].barSeconds - (bar - 1) };
  };
  const timeOf = (side, bar, part = 0) => Math.min(sides[side].seconds, (bar - 1 + part) * sides[side].barSeconds);
  const placeIn = (side, bar) => {
    const section = sides[side].sections.filter((each) => each.first <= bar).pop();
    return { section: section.name, inner: bar - section.first + 1, count: section.bars, bar, bars: sides[side].bars };
  };

  const decoded = (side) => together.context.decodeAudioData(
    Uint8Array.from(atob(side.sound), (sign) => sign.charCodeAt(0)).buffer,
  );
  const ready = async () => {
    if (!together) together = new GainNode(new AudioContext(), { channelInterpretation: "speakers" });
    if (!buffers) {
      at("said").textContent = words.loading;
      together.connect(context().destination);
      buffers = await Promise.all(sides.map(decoded));
      at("said").textContent = "";
    }
    await context().resume();
  };

  const stop = () => {
    if (!playing) return;
    const { source, level } = playing;
    seconds = position();
    playing = null;
    const now = context().currentTime;
    level.gain.cancelScheduledValues(now);
    level.gain.setValueAtTime(level.gain.value, now);
    level.gain.linearRampToValueAtTime(0, now + FADE_SECONDS);
    source.stop(now + FADE_SECONDS);
  };
  const start = () => {
    const source = new AudioBufferSourceNode(context(), { buffer: buffers[here] });
    const level = new GainNode(context(), { gain: 0 });
    const now = context().currentTime;
    source.connect(level).connect(together);
    level.gain.setValueAtTime(0, now);
    level.gain.linearRampToValueAtTime(sides[here].gain, now + FADE_SECONDS);
    const mine = { source, level, started: now, from: seconds };
    source.onended = () => {
      if (playing !== mine) return;
      playing = null;
      seconds = 0;
      show();
    };
    source.start(now, seconds);
    playing = mine;
  };

  let waiting = false;
  const play = async () => {
    if (waiting || playing) return;
    waiting = true;
    try {
      await ready();
      start();
    } catch {
      at("said").textContent = words.unplayable;
    }
    waiting = false;
    show();
    tick();
  };
  const playOrPause = () => {
    if (playing) stop();
    else play();
    show();
  };
  const go = (side, time) => {
    const sounding = Boolean(playing);
    stop();
    here = side;
    seconds = Math.min(Math.max(0, time), sides[side].seconds);
    if (sounding) start();
    show();
  };

  const other = (side) => 1 - side;
  const changeTo = (side) => {
    if (side === here) return;
    const { bar, part } = barOf(here, position());
    const there = sides[here].there[bar - 1];
    const from = placeIn(here, bar).section;
    go(side, timeOf(side, there.bar, part));
    at("said").textContent = fill(words[there.why][side], { ...placeIn(side, there.bar), other: from });
  };

  let shown = "";
  const show = () => {
    const { bar } = barOf(here, position());
    const line = at("line");
    line.max = sides[here].seconds;
    line.value = position();
    at("play").textContent = playing || waiting ? words.pause : words.play;
    const begun = Boolean(playing) || seconds > 0;
    const now = `${here} ${bar} ${begun}`;
    if (now === shown) return;
    shown = now;
    at("switch").textContent = words.to[other(here)];
    at("place").textContent = fill(words.place[here], placeIn(here, bar));
    line.setAttribute("aria-valuetext", at("place").textContent);
    const bars = [bar, bar];
    bars[other(here)] = sides[here].there[bar - 1].bar;
    parts.forEach((part, side) => {
      part.setAttribute("aria-current", String(side === here));
      for (const each of part.querySelectorAll("[data-bar]")) {
        const same = begun && Number(each.dataset.bar) === bars[side];
        each.classList.toggle("now", same && side === here);
        each.classList.toggle("there", same && side !== here);
      }
    });
  };
  const tick = () => {
    if (!playing) return;
    show();
    requestAnimationFrame(tick);
  };

  sides.forEach((side, number) => {
    const drawn = new DOMParser().parseFromString(side.svg, "image/svg+xml").documentElement;
    parts[number].querySelector(".chart").append(document.importNode(drawn, true));
    for (const bar of parts[number].querySelectorAll("[data-bar]")) {
      bar.addEventListener("click", () => go(number, timeOf(number, Number(bar.dataset.bar))));
    }
  });
  for (const change of document.querySelectorAll(".changes button")) {
    change.addEventListener("click", () => {
      const bars = [Number(change.dataset.old), Number(change.dataset.new)];
      const side = bars[here] ? here : other(here);
      const moved = side !== here;
      go(side, timeOf(side, bars[side]));
      at("said").textContent = moved ? fill(words.same[side], placeIn(side, bars[side])) : "";
      play();
    });
  }
  at("play").addEventListener("click", playOrPause);
  at("switch").addEventListener("click", () => changeTo(other(here)));
  at("line").addEventListener("input", () => go(here, Number(at("line").value)));
  at("mono").addEventListener("click", () => {
    const mono = at("mono").getAttribute("aria-pressed") !== "true";
    if (!together) together = new GainNode(new AudioContext(), { channelInterpretation: "speakers" });
    together.channelCount = mono ? 1 : 2;
    together.channelCountMode = mono ? "explicit" : "max";
    at("mono").setAttribute("aria-pressed", String(mono));
  });
  at("larger").addEventListener("click", () => {
    const size = Number(getComputedStyle(document.documentElement).getPropertyValue("--size")) || 1;
    document.documentElement.style.setProperty("--size", size >= 1.5 ? 1 : size + 0.25);
  });

  const toBar = (bar) => go(here, timeOf(here, Math.min(sides[here].bars, Math.max(1, bar))));
  const toSection = (step) => {
    const firsts = sides[here].sections.map((each) => each.first);
    const now = firsts.filter((first) => first <= barOf(here, position()).bar).length - 1;
    toBar(firsts[Math.min(firsts.length - 1, Math.max(0, now + step))]);
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key] || 0;
    const onLine = event.target === at("line");
    if (event.key === " " && !event.target.matches("button")) playOrPause();
    else if (event.key === "ArrowUp" && !onLine) changeTo(0);
    else if (event.key === "ArrowDown" && !onLine) changeTo(1);
    else if (step && !onLine) event.shiftKey ? toSection(step) : toBar(barOf(here, position()).bar + step);
    else return;
    event.preventDefault();
  });

  show();
  window.mixerVersions = { position, heard: () => here, playing: () => Boolean(playing) };
})();
