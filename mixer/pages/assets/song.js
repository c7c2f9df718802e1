// One song's page: both sides as one, for one ear and for small loudspeakers. Needs listen.js.
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
})();
