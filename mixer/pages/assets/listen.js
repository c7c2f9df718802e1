"use strict";
// Shows one song at a time to a class. Whatever people wrote is shown as text, never as markup.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const words = data.words;
  const at = (id) => document.getElementById(id);
  const on = (id, event, action) => at(id) && at(id).addEventListener(event, action);
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

  // A song may be inside the page: a blob of its own can be sought in, and counts as the page's own sound.
  const address = (name, it) => {
    if (!it.sound) return name;
    if (!it.blob) {
      const bytes = Uint8Array.from(atob(it.sound), (sign) => sign.charCodeAt(0));
      it.blob = URL.createObjectURL(new Blob([bytes], { type: it.soundType }));
    }
    return it.blob;
  };

  const load = () => {
    sound.pause();
    const name = whole || !song().part ? song().file : song().part;
    if (name) sound.src = address(name, song());
    else sound.removeAttribute("src");
    at("play").textContent = words.play;
    showPlace();
  };

  const show = () => {
    const it = song();
    if (at("count")) at("count").textContent = fill(words.count, { number: here + 1, of: order.length });
    at("title").textContent = it.title;
    at("maker").textContent = it.by;
    at("draft").hidden = !it.draft;
    at("none").hidden = Boolean(it.file);
    const chart = at("chart");
    chart.textContent = "";
    if (it.svg) {
      const drawn = new DOMParser().parseFromString(it.svg, "image/svg+xml").documentElement;
      chart.append(document.importNode(drawn, true));
      for (const bar of chart.querySelectorAll("[data-bar]")) {
        bar.addEventListener("click", () => seek((Number(bar.dataset.bar) - 1) * it.barSeconds));
      }
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
    if (at("told-words")) at("told-words").replaceChildren(...it.words.map((line) => element("li", line)));
    if (at("before")) at("before").disabled = here === 0;
    if (at("after")) at("after").disabled = here === order.length - 1;
    showWhole();
    load();
    document.dispatchEvent(new CustomEvent("song", { detail: it }));
  };

  const showWhole = () => {
    if (!at("whole")) return;
    at("whole").hidden = !song().part;
    at("whole").setAttribute("aria-pressed", String(whole));
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
    for (const each of at("chart").querySelectorAll("[data-bar]")) {
      each.classList.toggle("now", Number(each.dataset.bar) === bar && (sound.currentTime > 0 || !sound.paused));
    }
  };

  const seek = (seconds) => {
    if (!whole && song().part && (seconds < song().partStart || seconds > song().partStart + sound.duration)) {
      whole = true;
      showWhole();
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
    show();
    if (!at("start")) return;
    at("start").hidden = true;
    at("listen").hidden = false;
    at("level").pause();
    at("title").focus();
  };

  const reorder = () => {
    const number = at("order").valueAsNumber;
    order = Number.isInteger(number) ? shuffled(data.songs.length, number) : data.songs.map((_, each) => each);
    here = 0;
    show();
  };

  on("begin", "click", begin);
  on("play", "click", play);
  on("before", "click", () => go(-1));
  on("after", "click", () => go(1));
  on("whole", "click", () => { whole = !whole; show(); });
  on("reorder", "click", reorder);
  on("line", "input", () => { sound.currentTime = Number(at("line").value); showPlace(); });
  on("larger", "click", () => {
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

  if (!at("start")) begin();
  window.mixerListening = { song, place, showPlace };
})();
