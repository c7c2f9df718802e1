// Comments on songs, kept in this browser while they are typed and saved to a file when asked. Needs listen.js.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const words = data.words;
  const at = (id) => document.getElementById(id);
  const listening = window.mixerListening;
  const { element, fill } = listening;
  const shelf = `mixer comments ${data.session}`;
  let unsaved = false;
  let it = null;

  const read = () => {
    try {
      return checked(JSON.parse(localStorage.getItem(shelf) || "{}"));
    } catch (error) {
      return {};
    }
  };
  // Files of comments come from anywhere: only what has the right form is taken.
  const checked = (songs) => {
    const found = Object.create(null);
    for (const [name, song] of Object.entries(songs || {})) {
      if (!song || typeof song !== "object") continue;
      const marks = (Array.isArray(song.marks) ? song.marks : [])
        .filter((mark) => mark && Number.isInteger(mark.bar) && typeof mark.words === "string")
        .map((mark) => ({ bar: mark.bar, section: String(mark.section || ""), words: mark.words }));
      const rubric = Object.create(null);
      for (const [criterion, level] of Object.entries(song.rubric || {})) rubric[criterion] = String(level);
      found[name] = { title: String(song.title || ""), by: String(song.by || ""), marks, heard: String(song.heard || ""), remark: String(song.remark || ""), rubric };
    }
    return found;
  };
  let songs = read();

  const keep = () => {
    unsaved = true;
    let here = true;
    try {
      localStorage.setItem(shelf, JSON.stringify(songs));
    } catch (error) {
      here = false; // a browser that keeps nothing: the file is the only place
    }
    if (!file) at("kept").textContent = here ? words.kept : words.only;
    else soon();
  };

  // Where the browser lets a page write a file that its user has chosen (W3C, File System Access), it is kept there too.
  let file = null;
  let timer = 0;
  let writing = Promise.resolve();
  const asText = () => JSON.stringify({ "mixer comments": 1, session: data.session, songs }, null, 1);
  const soon = () => {
    clearTimeout(timer);
    timer = setTimeout(writeFile, 800);
  };
  const writeFile = () => {
    writing = writing.then(async () => {
      const into = file;
      if (!into) return;
      const text = asText();
      try {
        const stream = await into.createWritable();
        await stream.write(text);
        await stream.close();
        if (text === asText()) unsaved = false;
        at("kept").textContent = fill(words.inFile, { file: into.name });
      } catch (error) {
        file = null;
        at("kept").textContent = fill(words.notInFile, { file: into.name });
      }
    });
    return writing;
  };
  const choose = async () => {
    try {
      file = await window.showSaveFilePicker({
        suggestedName: "comments.json",
        types: [{ accept: { "application/json": [".json"] } }],
      });
    } catch (error) {
      return; // nothing was chosen
    }
    await writeFile();
  };
  const mine = () => {
    songs[it.name] = songs[it.name] || { title: it.title, by: it.by, marks: [], heard: "", remark: "", rubric: Object.create(null) };
    return songs[it.name];
  };

  const showMarks = () => {
    const list = at("marks");
    list.textContent = "";
    const marks = (songs[it.name] || { marks: [] }).marks;
    marks.sort((a, b) => a.bar - b.bar);
    marks.forEach((mark, number) => {
      const item = element("li");
      const label = element("label", fill(words.bar, mark));
      const input = element("input", undefined, { type: "text", maxlength: "1000", "aria-label": fill(words.mark, mark) });
      input.value = mark.words;
      input.addEventListener("input", () => { mark.words = input.value; keep(); });
      const take = element("button", words.take, { type: "button" });
      take.addEventListener("click", () => { marks.splice(number, 1); keep(); showMarks(); });
      label.append(input);
      item.append(label, take);
      list.append(item);
    });
  };

  const showSong = () => {
    showMarks();
    const kept = songs[it.name] || { heard: "", remark: "", rubric: {} };
    for (const name of ["heard", "remark"]) at(name).value = kept[name];
    const rubric = at("rubric");
    rubric.textContent = "";
    for (const criterion of data.rubric) {
      const label = element("label", `${criterion.name} `);
      const choice = element("select");
      for (const level of ["", ...criterion.levels]) {
        choice.append(element("option", level || words.choose, { value: level }));
      }
      choice.value = kept.rubric[criterion.name] || "";
      choice.addEventListener("change", () => { mine().rubric[criterion.name] = choice.value; keep(); });
      label.append(choice);
      const line = element("p");
      line.append(label);
      rubric.append(line);
    }
  };

  const mark = () => {
    if (!it || !it.bars) return;
    const { bar, section } = listening.place();
    mine().marks.push({ bar, section: section ? section.name : "", words: "" });
    keep();
    showMarks();
  };

  const save = () => {
    const link = element("a", "", { download: "comments.json" });
    link.href = URL.createObjectURL(new Blob([asText()], { type: "application/json" }));
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    unsaved = false;
    at("kept").textContent = words.saved;
  };

  // What two teachers wrote is put together; nothing that stands here is lost.
  const add = (others) => {
    for (const [name, other] of Object.entries(others)) {
      const own = (songs[name] = songs[name] || { title: other.title, by: other.by, marks: [], heard: "", remark: "", rubric: Object.create(null) });
      for (const mark of other.marks) {
        if (!own.marks.some((each) => each.bar === mark.bar && each.words === mark.words)) own.marks.push(mark);
      }
      for (const text of ["heard", "remark"]) {
        if (!own[text].includes(other[text])) own[text] = [own[text], other[text]].filter(Boolean).join("\n");
      }
      for (const [criterion, level] of Object.entries(other.rubric)) own.rubric[criterion] = own.rubric[criterion] || level;
    }
    return Object.keys(others).length;
  };

  document.addEventListener("song", (event) => { it = event.detail; showSong(); });
  at("mark").addEventListener("click", mark);
  at("save").addEventListener("click", save);
  at("keep-in-file").hidden = !window.showSaveFilePicker;
  at("keep-in-file").addEventListener("click", choose);
  for (const name of ["heard", "remark"]) at(name).addEventListener("input", () => { mine()[name] = at(name).value; keep(); });
  at("open").addEventListener("change", async () => {
    const file = at("open").files[0];
    if (!file) return;
    try {
      const content = JSON.parse(await file.text());
      if (content["mixer comments"] !== 1) throw new Error("other");
      const count = add(checked(content.songs));
      keep();
      if (it) showSong();
      at("kept").textContent = fill(words.added, { count });
    } catch (error) {
      at("kept").textContent = words.other;
    }
    at("open").value = "";
  });
  at("erase").addEventListener("click", () => {
    if (!confirm(words.sure)) return;
    songs = Object.create(null);
    try {
      localStorage.removeItem(shelf);
    } catch (error) {
      // a browser that keeps nothing
    }
    file = null; // the file is its owner's, and stays as it is
    clearTimeout(timer);
    unsaved = false;
    at("kept").textContent = "";
    if (it) showSong();
  });
  document.addEventListener("keydown", (event) => {
    if (event.target.matches("textarea, select, input:not([type=range])") || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key.toLowerCase() === "c" && it) { event.preventDefault(); mark(); }
  });
  window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });
})();
