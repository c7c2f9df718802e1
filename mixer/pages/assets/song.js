// One song's page: keys that go by bars and sections; both sides as one, for one ear and for small loudspeakers.
// Needs listen.js.
(() => {
  const sound = document.getElementById("sound");
  const button = document.getElementById("mono");
  let together = null;
  button.addEventListener("click", () => {
    if (!together) {
      const context = new AudioContext();
      together = new GainNode(context, { channelInterpretation: "speakers" });
      context.createMediaElementSource(sound).connect(together).connect(context.destination);
      sound.addEventListener("play", () => context.resume());
      context.resume();
    }
    const mono = button.getAttribute("aria-pressed") !== "true";
    together.channelCount = mono ? 1 : 2;
    together.channelCountMode = mono ? "explicit" : "max";
    button.setAttribute("aria-pressed", String(mono));
  });

  // Arrows alone, no letters: keys that type a sign get in the way of those who speak to their computer.
  const { song, showPlace } = window.mixerListening;
  const barNow = () => Math.min(song().bars, Math.floor(sound.currentTime / song().barSeconds + 1e-6) + 1);
  const toBar = (bar) => {
    sound.currentTime = (Math.min(song().bars, Math.max(1, bar)) - 1) * song().barSeconds + 0.0005;
    showPlace();
  };
  const toSection = (step) => {
    const firsts = song().sections.map((each) => each.first);
    const here = firsts.filter((first) => first <= barNow()).length - 1;
    toBar(firsts[Math.min(firsts.length - 1, Math.max(0, here + step))]);
  };
  document.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (!step || event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input, textarea")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (event.shiftKey) toSection(step);
    else toBar(barNow() + step);
  }, true);
})();
