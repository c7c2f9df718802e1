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

  // A sheet of paper has margins; on the wall the drawing alone takes what room there is.
  const trim = (drawing) => {
    const paper = drawing.querySelector("rect");
    if (paper) paper.remove();
    const { x, y, width, height } = drawing.getBBox();
    if (!width) return;
    drawing.setAttribute("viewBox", `${x - 4} ${y - 4} ${width + 8} ${height + 8}`);
    for (const side of ["width", "height"]) drawing.removeAttribute(side);
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
      if (at("count")) trim(chart.firstChild);
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
    showSince(it);
    if (at("told-words")) at("told-words").replaceChildren(...it.words.map((line) => element("li", line)));
    if (at("before")) at("before").disabled = here === 0;
    if (at("after")) at("after").disabled = here === order.length - 1;
    showWhole();
    load();
    document.dispatchEvent(new CustomEvent("song", { detail: it }));
  };

  const showSince = (it) => {
    if (!at("since")) return;
    const steps = it.since.map(([head, lines], number) => {
      const step = element("details");
      step.open = number === 0;
      const list = element("ul", undefined, { class: "words" });
      list.append(...lines.map((line) => element("li", line)));
      step.append(element("summary", head), list);
      return step;
    });
    at("since").replaceChildren(...steps);
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
    if (at("start")) {
      at("start").hidden = true;
      at("listen").hidden = false;
    }
    show();
    if (!at("start")) return;
    at("level").pause();
    at("title").focus();
  };

  // The order is the names of the songs, kept for both pages of a session; what is new comes last.
  const shelf = `mixer order ${data.session}`;
  const kept = () => {
    try {
      return JSON.parse(localStorage.getItem(shelf)) || [];
    } catch (error) {
      return [];
    }
  };
  const arrange = (names) => {
    const numbers = names.map((name) => data.songs.findIndex((each) => each.name === name));
    order = [...new Set([...numbers.filter((number) => number >= 0), ...order])];
  };
  const ordered = (next) => {
    order = next;
    try {
      if (next.every((number, place) => number === place)) localStorage.removeItem(shelf);
      else localStorage.setItem(shelf, JSON.stringify(next.map((number) => data.songs[number].name)));
    } catch (error) {
      // A browser that keeps nothing: the order lasts as long as the page.
    }
    showOrder();
  };
  const reorder = () => {
    const number = at("order").valueAsNumber;
    const asGiven = data.songs.map((_, each) => each);
    ordered(Number.isInteger(number) ? shuffled(data.songs.length, number) : asGiven);
    here = 0;
    show();
  };
  const move = (from, to, again) => {
    if (to < 0 || to >= order.length) return;
    const playing = order[here];
    const next = [...order];
    next.splice(to, 0, ...next.splice(from, 1));
    ordered(next);
    here = next.indexOf(playing);
    at("count").textContent = fill(words.count, { number: here + 1, of: order.length });
    for (const [button, step] of [["before", 0], ["after", order.length - 1]]) at(button).disabled = here === step;
    at("order-said").textContent = fill(words.moved, { title: data.songs[next[to]].title, number: to + 1, of: next.length });
    const buttons = at("order-list").children[to].querySelectorAll("button");
    (buttons[again].disabled ? buttons[0] : buttons[again]).focus();
  };
  const showOrder = () => {
    if (!at("order-list")) return;
    at("order-list").replaceChildren(...order.map((number, place) => {
      const it = data.songs[number];
      const item = element("li", undefined, { draggable: "true" });
      const name = element("button", it.by ? `${it.title}, ${it.by}` : it.title, { type: "button", class: "song" });
      name.addEventListener("click", () => { here = place; show(); });
      name.addEventListener("keydown", (event) => {
        const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
        if (!step || !event.altKey) return;
        event.preventDefault();
        move(place, place + step, 0);
      });
      const steps = [["up", -1], ["down", 1]].map(([word, step]) => {
        const button = element("button", words[word], { type: "button", "aria-label": `${words[word]}: ${it.title}` });
        button.disabled = place + step < 0 || place + step >= order.length;
        button.addEventListener("click", () => move(place, place + step, step < 0 ? 1 : 2));
        return button;
      });
      item.addEventListener("dragstart", (event) => event.dataTransfer.setData("text/plain", String(place)));
      item.addEventListener("dragover", (event) => event.preventDefault());
      item.addEventListener("drop", (event) => {
        event.preventDefault();
        const from = Number(event.dataTransfer.getData("text/plain"));
        if (Number.isInteger(from) && from >= 0 && from < order.length) move(from, place, 0);
      });
      item.append(name, ...steps);
      return item;
    }));
  };
  const saveOrder = () => {
    const link = element("a", "", { download: "order.txt" });
    const lines = order.map((number) => `${data.songs[number].name}\n`);
    link.href = URL.createObjectURL(new Blob(lines, { type: "text/plain" }));
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  };

  on("begin", "click", begin);
  on("play", "click", play);
  on("before", "click", () => go(-1));
  on("after", "click", () => go(1));
  on("whole", "click", () => { whole = !whole; show(); });
  on("reorder", "click", reorder);
  on("as-given", "click", () => { at("order").value = ""; reorder(); });
  on("order-save", "click", saveOrder);
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

  if (data.session) arrange(kept());
  showOrder();
  if (!at("start")) begin();
  window.mixerListening = { song, place, show, showPlace, element, fill };
})();
