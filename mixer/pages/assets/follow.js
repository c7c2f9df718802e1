// Follows a recipe that is being written: asks this machine every second whether page or song are others, takes in
// what is, and stays at the same section and bar. Nothing plays by itself. Needs listen.js where there is a song.
(() => {
  const EVERY_MS = 1000;
  const words = JSON.parse(document.getElementById("data").textContent).words;
  const stateOf = (page) => page.querySelector('meta[name="mixer-state"]').content.split(" ");
  const at = (id) => document.getElementById(id);
  const tell = (text) => { if (at("news").textContent !== text) at("news").textContent = text; };
  const listening = window.mixerListening;
  const sound = at("sound");
  let [pageNumber, songNumber] = stateOf(document);

  // A section is known by its name, and by how many of that name come before it.
  const placeNow = () => {
    if (!sound.currentTime) return null;
    const { bar, section } = listening.place();
    const same = listening.song().sections.filter((each) => each.name === section.name);
    return { name: section.name, which: same.indexOf(section), inner: bar - section.first };
  };
  const sectionOf = (place) => {
    const same = listening.song().sections.filter((each) => each.name === place.name);
    return same[Math.min(place.which, same.length - 1)];
  };
  const goTo = (place) => {
    const { barSeconds } = listening.song();
    const section = sectionOf(place);
    if (!section) return;
    const bar = section.first + Math.min(place.inner, section.bars - 1);
    sound.currentTime = (bar - 1) * barSeconds + 0.0005;
    listening.showPlace();
  };

  // The whole song is fetched, as only then can be sought in it.
  const takeSong = async (about, place) => {
    const answer = await fetch("song");
    const song = listening.song();
    const before = song.file;
    Object.assign(song, about, { file: URL.createObjectURL(await answer.blob()) });
    if (place) sound.addEventListener("loadedmetadata", () => goTo(place), { once: true });
    listening.show();
    if (before) URL.revokeObjectURL(before);
  };
  const take = async () => {
    const text = await (await fetch("./")).text();
    if (!listening) {
      location.reload();
      return;
    }
    const fresh = new DOMParser().parseFromString(text, "text/html");
    const [newPage, newSong] = stateOf(fresh);
    if (!fresh.getElementById("parts")) return;
    const wrong = at("mistakes").textContent;
    for (const id of ["mistakes", "parts", "table"]) at(id).innerHTML = fresh.getElementById(id).innerHTML;
    document.title = fresh.title;
    if (newSong !== songNumber) {
      const place = placeNow();
      await takeSong(JSON.parse(fresh.getElementById("data").textContent).songs[0], place);
      tell(place && !sectionOf(place) ? words.again_elsewhere : words.again);
    } else if (at("mistakes").textContent) {
      tell(words.look);
    } else if (wrong) {
      tell(words.right);
    }
    [pageNumber, songNumber] = [newPage, newSong];
  };

  const look = async () => {
    try {
      const now = (await (await fetch("state")).text()).split(" ");
      if (now[0] !== pageNumber || now[1] !== songNumber) await take();
      else if (at("news").textContent === words.gone) tell("");
    } catch {
      tell(words.gone);
    }
    setTimeout(look, EVERY_MS);
  };
  (listening ? takeSong({}, null) : Promise.resolve()).catch(() => tell(words.gone)).then(look);
})();
