// Photographs and recordings: kept in this browser first, then sent once each when the server answers.
(() => {
  "use strict";
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const memory = []; // where the browser keeps nothing: for as long as the page is open
  let busy = false, retry = null, delay = 1000, base = null;

  // ---- kept in this browser ---------------------------------------------------------------------------------
  const opened = () => base || (base = new Promise((done, failed) => {
    const asked = indexedDB.open("sparkout.files", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("files", { keyPath: "at", autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = asked.onblocked = () => failed(asked.error);
  }));
  const within = async (mode, act) => {
    const store = (await opened()).transaction("files", mode).objectStore("files");
    return new Promise((done, failed) => { const asked = act(store); asked.onsuccess = () => done(asked.result); asked.onerror = () => failed(asked.error); });
  };
  const write = (entry) => within("readwrite", (store) => store.add(entry)).catch(() => { memory.push(entry); });
  const waiting = async () => [...await within("readonly", (store) => store.getAll()).catch(() => []), ...memory];
  const drop = (entry) => (entry.at ? within("readwrite", (store) => store.delete(entry.at)).catch(() => {}) : memory.splice(memory.indexOf(entry), 1));

  // ---- sent one after the other -----------------------------------------------------------------------------
  const uuid = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16)); // plain http on a workshop's network has no randomUUID
    b[6] = (b[6] & 15) | 64; b[8] = (b[8] & 63) | 128;
    return [...b].map((x, i) => ([4, 6, 8, 10].includes(i) ? "-" : "") + x.toString(16).padStart(2, "0")).join("");
  };
  const say = (entry, words, bad = false) => {
    const holder = entry && document.getElementById(entry.id);
    for (const line of all("[data-said]", holder || document)) { line.textContent = words; line.classList.toggle("mark", bad); line.classList.toggle("bad", bad); }
  };
  const word = (name) => { const form = document.querySelector("[data-attach]"); return form ? form.dataset[`words${name}`] : ""; };
  const post = (entry) => new Promise((done) => {
    const body = new FormData();
    for (const [name, value] of Object.entries(entry.fields)) body.append(name, value);
    body.append("key", entry.key);
    body.append("file", entry.file, entry.name);
    const ask = new XMLHttpRequest();
    ask.open("POST", entry.url);
    ask.setRequestHeader("HX-Request", "true");
    ask.setRequestHeader("X-CSRFToken", (document.querySelector("[name=csrfmiddlewaretoken]") || {}).value || "");
    ask.upload.onprogress = (step) => { if (step.lengthComputable) say(entry, `${entry.name}: ${word("Sending")} ${Math.round((100 * step.loaded) / step.total)} %`); };
    ask.onload = () => done(ask);
    ask.onerror = ask.ontimeout = () => done(null);
    ask.send(body);
  });
  const pump = async () => {
    clearTimeout(retry);
    if (busy) return;
    busy = true;
    let sent = null;
    for (let queue = await waiting(); queue.length; queue = await waiting()) {
      const entry = queue[0], answer = await post(entry);
      if (!answer || answer.status === 0 || answer.status >= 500 || answer.status === 429) {
        say(entry, memory.length ? word("Memory") : `${queue.length} ${word("Kept")}`);
        retry = setTimeout(pump, delay);
        delay = Math.min(delay * 1.6, 15000);
        busy = false;
        return;
      }
      delay = 1000;
      await drop(entry);
      if (answer.getResponseHeader("Outcome") === "done") { await fresh(entry); sent = entry; say(entry, `${entry.name}: ${word("Saved")}`); }
      else say(entry, answer.getResponseHeader("Outcome") ? answer.responseText : `${entry.name}: ${answer.status}`, true);
    }
    busy = false;
    return sent;
  };

  // The list of what is attached comes anew; the form below it, and what is typed there, stays.
  const fresh = async (entry) => {
    const here = document.getElementById(entry.id);
    if (!here) return;
    const answer = await fetch(here.dataset.fresh).catch(() => null);
    if (!answer || !answer.ok) return;
    const made = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById(entry.id);
    all(":scope > h3, :scope > ul", here).forEach((part) => part.remove());
    if (made) here.prepend(...all(":scope > h3, :scope > ul", made).map((part) => document.importNode(part, true)));
    if (window.htmx) htmx.process(here);
  };

  const keep = async (form, files) => {
    const holder = form.closest(".attached");
    const fields = {};
    for (const name of ["note", "blade", "step"]) { const part = form.elements[name]; if (part && part.value.trim()) fields[name] = part.value.trim(); }
    for (const file of files) {
      const entry = { url: form.getAttribute("action"), id: holder.id, fields, key: uuid(), name: file.name || "recording", file };
      if (file.size > Number(form.dataset.largest)) { say(entry, `${entry.name}: ${form.dataset.wordsLarge}`, true); continue; }
      await write(entry);
    }
    for (const input of all("input[type=file]", form)) input.value = "";
    for (const name of ["note", "blade"]) if (form.elements[name]) form.elements[name].value = "";
    return pump();
  };

  document.addEventListener("submit", (event) => {
    const form = event.target.closest("[data-attach]");
    if (!form) return;
    const files = all("input[type=file]", form).flatMap((input) => [...input.files]);
    if (!files.length) return; // the server says what is missing
    event.preventDefault();
    event.stopImmediatePropagation();
    keep(form, files);
  }, true);
  // What the camera has taken is kept at once.
  document.addEventListener("change", (event) => {
    const input = event.target.closest("[data-attach] input[type=file][capture]");
    if (input && input.files.length) keep(input.form, [...input.files]);
  });
  for (const name of ["dragover", "drop"]) document.addEventListener(name, (event) => {
    const form = event.target.closest && event.target.closest("[data-attach]");
    if (!form || !event.dataTransfer || ![...event.dataTransfer.types].includes("Files")) return;
    event.preventDefault();
    if (name === "drop") keep(form, [...event.dataTransfer.files]);
  });

  // ---- the microphone ---------------------------------------------------------------------------------------
  const can = navigator.mediaDevices && navigator.mediaDevices.getUserMedia && window.MediaRecorder;
  const microphones = () => {
    for (const part of all("[data-microphone]")) part.hidden = !can;
    for (const part of all("[data-no-microphone]")) part.hidden = Boolean(can);
  };
  let recorder = null;
  const record = async (button) => {
    const form = button.form, holder = { id: button.closest(".attached").id };
    if (recorder) { recorder.stop(); return; }
    let sound;
    // As the bearing sounds: what telephones do to speech would take away what is looked for.
    try { sound = await navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false } }); } catch { say(holder, form.dataset.wordsSilent, true); return; }
    const pieces = [], since = Date.now();
    recorder = new MediaRecorder(sound);
    const clock = setInterval(() => { say(holder, `${form.dataset.wordsRecording}: ${Math.round((Date.now() - since) / 1000)} s`); if (Date.now() - since > 600000) recorder.stop(); }, 500);
    recorder.ondataavailable = (event) => pieces.push(event.data);
    recorder.onstop = () => {
      clearInterval(clock);
      for (const track of sound.getTracks()) track.stop();
      const type = recorder.mimeType.split(";")[0], ending = type.endsWith("mp4") ? "m4a" : type.split("/")[1] || "webm";
      recorder = null;
      button.setAttribute("aria-pressed", "false");
      button.textContent = button.dataset.wordStart;
      keep(form, [new File(pieces, `recording.${ending}`, { type })]);
    };
    recorder.start(1000);
    button.setAttribute("aria-pressed", "true");
    button.textContent = button.dataset.wordStop;
  };
  document.addEventListener("click", (event) => { const button = event.target.closest("[data-record]"); if (button) record(button); });

  microphones();
  addEventListener("online", pump);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) pump(); });
  addEventListener("beforeunload", (event) => { if (memory.length || recorder) event.preventDefault(); });
  if (window.indexedDB) pump();
})();
