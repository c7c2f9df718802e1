"use strict";
// Plays one loop at a time, round and round without a gap, and looks for loops. Nothing plays by itself.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const words = data.words;
  const at = (id) => document.getElementById(id);
  const cards = [...document.querySelectorAll("[data-loop]")];
  const fill = (text, facts) => text.replace(/\{(\w+)\}/g, (_, name) => facts[name]);
  const tell = (text, facts = {}) => (at("told").textContent = fill(text, facts));
  const FADE = 0.02;
  let context = null;
  let master = null;
  let now = null; // what plays: its source, its gain, its button
  let asked = 0; // who pressed last is heard, however long the others take to decode
  const decoded = new Map();

  const level = () => (at("level").value / 100) ** 2;
  const begin = () => {
    if (context) return;
    context = new (window.AudioContext || window.webkitAudioContext)();
    master = context.createGain();
    master.gain.value = level();
    master.connect(context.destination);
  };
  const bytes = (text) => Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0)).buffer;
  const sound = (key, text) => {
    if (!decoded.has(key)) decoded.set(key, new Promise((yes, no) => context.decodeAudioData(bytes(text), yes, no)));
    return decoded.get(key);
  };

  const stop = () => {
    asked += 1;
    if (!now) return;
    const { parts, button } = now;
    for (const { source, gain } of parts) {
      gain.gain.setTargetAtTime(0, context.currentTime, FADE / 3);
      source.stop(context.currentTime + 2 * FADE);
    }
    if (button) {
      button.setAttribute("aria-pressed", "false");
      button.textContent = words.play;
    }
    now = null;
    tell(words.stopped);
  };

  const start = (buffer, when, level, { lead, seconds }) => {
    const source = context.createBufferSource();
    const gain = context.createGain();
    source.buffer = buffer;
    gain.gain.setValueAtTime(0, when);
    gain.gain.linearRampToValueAtTime(level, when + FADE);
    source.connect(gain).connect(master);
    if (seconds) {
      source.loop = true;
      source.loopStart = lead;
      source.loopEnd = lead + seconds;
    } else {
      source.onended = () => now && now.parts[0].source === source && stop();
    }
    source.start(when, lead);
    return { source, gain };
  };

  const play = async (key, text, button, loop) => {
    const { name } = loop;
    begin();
    stop();
    const mine = asked;
    const song = loop.gainTogether && at("together") && at("together").checked ? data.together : null;
    try {
      await context.resume();
      const buffers = [await sound(key, text)];
      if (song) buffers.push(await sound("together", song.sound));
      if (mine !== asked) return;
      const when = context.currentTime + 0.02;
      const parts = [start(buffers[0], when, song ? loop.gainTogether : loop.gain, loop)];
      if (song) parts.push(start(buffers[1], when, song.gain, song));
      now = { parts, button };
      if (button) {
        button.setAttribute("aria-pressed", "true");
        button.textContent = words.stop;
      }
      tell(words.playing, { name });
    } catch {
      tell(words.cannot, { name });
    }
  };

  const copy = async (name, heading) => {
    try {
      await navigator.clipboard.writeText(name);
      tell(words.copied, { name });
    } catch {
      const range = document.createRange();
      range.selectNodeContents(heading);
      const chosen = window.getSelection();
      chosen.removeAllRanges();
      chosen.addRange(range);
      tell(words.choose, { name });
    }
  };

  for (const card of cards) {
    const loop = data.loops[card.dataset.loop];
    const button = card.querySelector(".play");
    button.addEventListener("click", () =>
      now && now.button === button ? stop() : play(card.dataset.loop, loop.sound, button, loop),
    );
    // Where a screen is too narrow for the picture it can be moved sideways, with the keyboard too.
    const picture = card.querySelector(".rhythm");
    if (picture.scrollWidth > picture.clientWidth) picture.tabIndex = 0;
    card.querySelector(".copy").addEventListener("click", () => copy(loop.name, card.querySelector("h3")));
  }
  at("stop").addEventListener("click", stop);
  at("check").addEventListener("click", () =>
    play("check", data.levelCheck, null, { name: at("check").textContent, gain: 1, lead: 0 }),
  );
  at("level").addEventListener("input", () => master && master.gain.setTargetAtTime(level(), context.currentTime, 0.02));
  document.addEventListener("keydown", (event) => event.key === "Escape" && stop());
  at("search").addEventListener("input", () => {
    const wanted = at("search").value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const card of cards) {
      const text = data.loops[card.dataset.loop].search;
      card.hidden = !wanted.every((word) => text.includes(word));
      count += !card.hidden;
    }
    for (const group of document.querySelectorAll(".role")) group.hidden = !group.querySelector(".loop:not([hidden])");
    if (!wanted.length) tell("");
    else tell(count === 0 ? words.none : count === 1 ? words.one : words.found, { count });
  });
})();
