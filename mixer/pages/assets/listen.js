"use strict";
// Shows one song at a time to a class. Whatever people wrote is shown as text, never as markup.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const words = data.words;
  const at = (id) => document.getElementById(id);
  const sound = at("sound");
  let order = data.songs.map((_, number) => number);
  let here = 0;
  let whole = !data.songs.some((song) => song.part);
  let started = false;

  const element = (name, text, attributes = {}) => {
    const made = document.createElement(name);
    if (text !== undefined) made.textContent = text;
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };
  const fill = (text, facts) => text.replace(/\{(\w+)\}/g, (_, name) => facts[name]);
  const song = () => data.songs[order[here]];
  const shift = () => (whole || !song().part ? 0 : song().partStart);

  // A small generator with a number to begin with (a linear congruential one, Knuth), so that an order can be had again.
  const shuffled = (count, number) => {
    let state = (number * 2654435761) >>> 0;
    const next = () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 4294967296;
    const list = Array.from({ length: count }, (_, at) => at);
    for (let last = count - 1; last > 0; last -= 1) {
      const other = Math.floor(next() * (last + 1));
      [list[last], list[other]] = [list[other], list[last]];
    }
    return list;
  };

  const load = () => {
    sound.pause();
    const name = whole || !song().part ? song().file : song().part;
    if (name) sound.src = name;
    else sound.removeAttribute("src");
    at("play").textContent = words.play;
    showPlace();
  };

  const show = () => {
    const it = song();
    at("count").textContent = fill(words.count, { number: here + 1, of: order.length });
    at("title").textContent = it.title;
    at("maker").textContent = it.by;
    at("draft").hidden = !it.draft;
    at("none").hidden = Boolean(it.file);
    const chart = at("chart");
    chart.textContent = "";
    if (it.svg) {
      const drawn = new DOMParser().parseFromString(it.svg, "image/svg+xml").documentElement;
      chart.append(document.importNode(drawn, true));
    } else if (it.chart) {
      chart.append(element("pre", it.chart));
    }
    const sections = at("sections");
    sections.textContent = "";
    for (const section of it.sections) {
      const item = element("li");
      item.style.flex = `${section.bars} 1 0`;
      const button = element("button", `${section.letter}  ${section.name}`, { type: "button" });
      button.title = fill(words.section, section);
      button.addEventListener("click", () => seek(section.start));
      item.append(button);
      sections.append(item);
    }
    at("meant").textContent = it.about;
    const told = at("told-words");
    told.textContent = "";
    for (const line of it.words) told.append(element("li", line));
    at("before").disabled = here === 0;
    at("after").disabled = here === order.length - 1;
    at("whole").hidden = !it.part;
    at("whole").setAttribute("aria-pressed", String(whole));
    load();
    document.dispatchEvent(new CustomEvent("song", { detail: it }));
  };

  const place = () => {
    const it = song();
    const seconds = sound.currentTime + shift();
    const bar = Math.min(it.bars, Math.floor(seconds / it.barSeconds + 1e-6) + 1);
    const section = it.sections.filter((each) => each.first <= bar).pop();
    return { bar, section, seconds };
  };

  const showPlace = () => {
    const it = song();
    const line = at("line");
    line.max = Number.isFinite(sound.duration) ? sound.duration : it.seconds || 1;
    line.value = sound.currentTime;
    if (!it.bars || !it.file) {
      at("place").textContent = "";
      return;
    }
    const { bar, section } = place();
    const facts = { bar, bars: it.bars, section: section ? section.name : "" };
    at("place").textContent = fill(words.place, facts);
    line.setAttribute("aria-valuetext", at("place").textContent);
    [...at("sections").querySelectorAll("button")].forEach((button, number) => {
      button.setAttribute("aria-current", String(it.sections[number] === section));
    });
  };

  const seek = (seconds) => {
    if (!whole && song().part && (seconds < song().partStart || seconds > song().partStart + sound.duration)) {
      whole = true;
      at("whole").setAttribute("aria-pressed", "true");
      load();
      sound.addEventListener("loadedmetadata", () => { sound.currentTime = seconds; }, { once: true });
      return;
    }
    sound.currentTime = Math.max(0, seconds - shift());
    showPlace();
  };

  const play = () => {
    if (!sound.src) return;
    if (sound.paused) sound.play().catch(() => { at("place").textContent = words.missing; });
    else sound.pause();
  };

  const go = (step) => {
    const next = here + step;
    if (next < 0 || next >= order.length) return;
    here = next;
    show();
    at("title").focus();
  };

  const begin = () => {
    started = true;
    at("start").hidden = true;
    at("listen").hidden = false;
    at("level").pause();
    show();
    at("title").focus();
  };

  const reorder = () => {
    const number = at("order").valueAsNumber;
    order = Number.isInteger(number) ? shuffled(data.songs.length, number) : data.songs.map((_, each) => each);
    here = 0;
    show();
  };

  at("begin").addEventListener("click", begin);
  at("play").addEventListener("click", play);
  at("before").addEventListener("click", () => go(-1));
  at("after").addEventListener("click", () => go(1));
  at("whole").addEventListener("click", () => { whole = !whole; show(); });
  at("reorder").addEventListener("click", reorder);
  at("line").addEventListener("input", () => { sound.currentTime = Number(at("line").value); showPlace(); });
  at("larger").addEventListener("click", () => {
    const size = Number(getComputedStyle(document.documentElement).getPropertyValue("--size")) || 1;
    document.documentElement.style.setProperty("--size", size >= 1.5 ? 1 : size + 0.25);
  });
  for (const event of ["timeupdate", "loadedmetadata", "ended", "seeked"]) sound.addEventListener(event, showPlace);
  for (const event of ["play", "pause", "ended"]) {
    sound.addEventListener(event, () => { at("play").textContent = sound.paused ? words.play : words.pause; });
  }
  sound.addEventListener("error", () => { if (sound.getAttribute("src")) at("place").textContent = words.missing; });

  document.addEventListener("keydown", (event) => {
    const typing = event.target.matches("textarea, select, input:not([type=range])");
    if (typing || event.ctrlKey || event.metaKey || event.altKey || !started) return;
    const onButton = event.target.matches("button, summary");
    const keys = {
      " ": () => play(),
      ArrowRight: () => go(1),
      ArrowLeft: () => go(-1),
      PageDown: () => go(1),
      PageUp: () => go(-1),
      w: () => { if (song().part) { whole = !whole; show(); } },
    };
    if (event.key === " " && onButton) return;
    if (event.target.matches("input[type=range]") && event.key.startsWith("Arrow")) return;
    const action = keys[event.key] || keys[event.key.toLowerCase()];
    if (!action) return;
    event.preventDefault();
    action();
  });

  window.mixerListening = { song, place, showPlace };
})();
