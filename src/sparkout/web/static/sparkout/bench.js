// The visit page: what is typed is kept in this browser first, then sent once each, in order, when the server answers.
(() => {
  "use strict";
  const page = document.querySelector("[data-visit]");
  if (!page) return;
  const prefix = `sparkout.unsent.${page.dataset.visit}.`;
  const drafted = `sparkout.typed.${page.dataset.visit}`;
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const root = document.documentElement;
  const byId = (id) => document.getElementById(id);
  const token = () => page.dataset.token;
  let queue = [];
  let busy = false;
  let retry = null;
  let delay = 1000;

  // ---- kept in this browser -------------------------------------------------------------------------------
  const store = {
    read() {
      try {
        return Object.keys(localStorage).filter((name) => name.startsWith(prefix)).sort()
          .map((name) => ({ name, ...JSON.parse(localStorage.getItem(name)) }));
      } catch { return []; }
    },
    // Later than every entry kept, also when this device's clock was put back or two are made in one millisecond.
    following() {
      const last = Math.max(0, ...[...this.read(), ...queue].map(({ name }) => parseInt(name.slice(prefix.length), 10) || 0));
      return Math.max(Date.now(), last + 1);
    },
    write(entry) {
      const { name, ...rest } = entry;
      try { localStorage.setItem(name, JSON.stringify(rest)); } catch { status("off", page.dataset.wordsFull); }
    },
    drop(entry) { try { localStorage.removeItem(entry.name); } catch { /* it was never there */ } },
  };

  const uuid = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16)); // plain http on a workshop's network has no randomUUID
    b[6] = (b[6] & 15) | 64; b[8] = (b[8] & 63) | 128;
    const hex = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
    return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
  };

  // A later entry for the same spot takes the place of one not yet on its way, when `lump` says that it may.
  const keep = (url, fields, spot, lump = false) => {
    const last = queue[queue.length - 1];
    if (lump && last && last.spot === spot && !last.going) {
      last.fields = { ...fields, key: last.fields.key, was: last.fields.was };
      store.write(last);
    } else {
      const key = uuid();
      const entry = { name: `${prefix}${store.following().toString().padStart(15, "0")}.${key}`, url, spot, fields: { ...fields, key } };
      queue.push(entry);
      store.write(entry);
    }
    mark();
    if (lump) { clearTimeout(retry); retry = setTimeout(pump, 350); } else pump();
  };

  const pump = async () => {
    clearTimeout(retry);
    if (busy) return;
    busy = true;
    while (queue.length) {
      const entry = queue[0];
      entry.going = true;
      let answer;
      const more = queue.length > 1 && queue[1].spot !== entry.spot ? { more: 1 } : {};
      turn += 1; // parts of an earlier answer still on their way are not wanted any more
      try {
        answer = await fetch(entry.url, {
          method: "POST", redirect: "manual", signal: AbortSignal.timeout(20000),
          headers: { "X-CSRFToken": token(), "HX-Request": "true" }, body: new URLSearchParams({ ...entry.fields, ...more, have: more.more ? "" : have() }),
        });
      } catch { answer = null; }
      if (!answer || !answer.headers.has("Outcome")) { // whatever else answered did not keep it
        entry.going = false;
        const stranger = answer && (answer.type === "opaqueredirect" || [401, 403].includes(answer.status));
        status("off", page.dataset[stranger ? "wordsStranger" : "wordsOff"].replace("{n}", queue.length));
        mark();
        retry = setTimeout(pump, delay);
        delay = Math.min(delay * 1.6, 8000);
        break;
      }
      delay = 1000;
      queue.shift();
      store.drop(entry);
      const told = byId(`told-${entry.spot}`);
      if (told && answer.headers.has("Version")) {
        told.dataset.version = answer.headers.get("Version");
        told.dataset.digest = "old";
        const typed = byId(`in-${entry.spot}`);
        if (typed) told.dataset.shown = typed.value;
        if (entry.fields.rows) told.dataset.rows = entry.fields.rows;
      }
      const passes = byId("done-passes");
      const code = answer.headers.get("Outcome");
      if (passes && code === "done") passes.dataset.done = counted(Number(passes.dataset.done), entry);
      if (code === "done") { byId("refused").textContent = ""; if (!entry.fields.rows) settled(entry.spot); }
      if (code === "done") settle(entry, code);
      if (!more.more || code !== "done") parts(answer, entry, code, turn);
      mark();
    }
    busy = false;
    if (!queue.length && !beingReckoned && !root.dataset.seen) saved();
  };

  // What a refusal or a conflict says stays beside its box until that box is settled, whatever else is entered meanwhile.
  const settled = (spot) => {
    byId(`said-${spot}`)?.remove();
    byId(`in-${spot}`)?.removeAttribute("aria-invalid");
  };

  // What was refused, or not entered yet, stands in its box and is not on file.
  const saved = () => {
    const left = all("input[id^=in-][data-dirty]").filter((box) => box !== document.activeElement).length;
    if (left) status("off", page.dataset.wordsLeft.replace("{n}", left)); else status("", page.dataset.wordsSaved);
  };

  // ---- the answer, part by part -----------------------------------------------------------------------------
  // What stands on the page from before an entry is marked as being reckoned until its own part has come.
  let turn = 0;
  let beingReckoned = false;
  page.style.setProperty("--being-reckoned", JSON.stringify(page.dataset.wordsStale));
  const reckoning = (on) => {
    beingReckoned = on;
    for (const part of all("[id^=panel-], #now-part")) part.classList.toggle("stale", on);
    if (on && !queue.length) status("wait", page.dataset.wordsReckoned);
  };
  // What stands against an entry comes first, and is put in place whatever is entered meanwhile.
  const parts = async (answer, entry, code, mine) => {
    reckoning(true);
    let left = "";
    let heard = code === "done";
    try {
      const reader = answer.body.getReader();
      const words = new TextDecoder();
      for (;;) {
        const { done, value } = await reader.read();
        if (mine !== turn && heard) { reader.cancel(); return; }
        left += words.decode(value || new Uint8Array(), { stream: !done });
        const ready = left.split("\n<!-- more -->\n");
        left = done ? "" : ready.pop();
        for (const html of ready) if (html.trim()) place(html, entry, code);
        heard ||= ready.length > 0;
        if (done) break;
      }
    } catch { if (mine === turn) refresh(); return; }
    if (mine !== turn) return;
    reckoning(false);
    connected();
    keepSeen();
    if (!queue.length) saved();
  };

  const status = (kind, words) => {
    const line = byId("link");
    if (!line) return;
    line.className = `link ${kind}`;
    if (line.textContent !== words) line.textContent = words;
  };

  // Which boxes wait to be sent; signing waits with them.
  const mark = () => {
    const waiting = new Set(queue.map((entry) => entry.spot));
    for (const told of all("[id^=told-]")) {
      const holder = told.closest(".box, .cell, details");
      const waits = waiting.has(told.id.slice(5));
      holder.classList.toggle("waiting", waits);
      if (waits) holder.title = page.dataset.wordsKept; else holder.removeAttribute("title");
    }
    if (queue.length && !byId("link").classList.contains("off")) status("wait", page.dataset.wordsWait.replace("{n}", queue.length));
    for (const button of all("[data-after-all]")) button.disabled = queue.length > 0 || button.dataset.afterAll === "never";
  };

  // ---- fragments ------------------------------------------------------------------------------------------
  const have = () => all("[data-digest]").map((part) => `${part.id}:${part.dataset.digest}`).join(" ");

  // Each part takes the place of the page's own of its id. Much of a page comes at once after every entry: htmx, which
  // would look through all of it several times, is handed only what asks for something.
  const swapIn = (html) => {
    const made = document.createElement("template");
    made.innerHTML = html;
    for (const part of [...made.content.children]) {
      const old = byId(part.id);
      if (old) old.replaceWith(part); else if (part.dataset.into) byId(part.dataset.into)?.append(part);
      if (part.dataset.into) byId(`in-${part.id.slice(5)}`)?.setAttribute("aria-invalid", "true");
      if (part.id === "panel-grind") outdated = true;
      if (old && part.querySelector("[hx-get]")) htmx.process(part);
    }
  };

  // What if is worked out anew after a new plan only while somebody looks at it: it costs a second reckoning.
  const whatIf = byId("what-if");
  let outdated = false;
  let compared = false;
  const compareAnew = () => {
    if (whatIf && outdated && compared) { outdated = false; htmx.trigger(whatIf, "outdated"); }
  };
  if (whatIf) new IntersectionObserver(([part]) => { compared = part.isIntersecting; compareAnew(); }).observe(whatIf);

  const place = (html, entry, code) => {
    if (html === "<!-- kept -->") return;
    const active = document.activeElement;
    const seen = active && active !== document.body && active.getBoundingClientRect();
    const hold = seen && seen.bottom > 0 && seen.top < innerHeight ? active : document.elementFromPoint(innerWidth / 2, innerHeight / 3);
    const anchor = hold && hold.closest("[id]");
    const id = anchor && anchor.id;
    const top = anchor && anchor.getBoundingClientRect().top;
    const focused = document.activeElement && document.activeElement.id;
    const open = all("details[id][open]").map((part) => part.id);
    swapIn(html);
    for (const part of open) { const found = byId(part); if (found) found.open = true; }
    if (focused && byId(focused) && document.activeElement.id !== focused) byId(focused).focus({ preventScroll: true });
    const now = id && byId(id);
    if (now) {
      const moved = now.getBoundingClientRect().top - top;
      if (Math.abs(moved) > 0.5 && top > -50 && top < innerHeight) scrollBy({ top: moved, behavior: "instant" });
    }
    if (entry && code !== "done") settle(entry, code);
    compareAnew();
    ticked();
    sync();
    here();
  };

  // After an answer: later entries of this page for the same spot follow on from the version just made.
  const settle = (entry, code) => {
    const told = all("[id^=told-]").find((part) => part.id.slice(5) === entry.spot);
    const input = told && byId(`in-${entry.spot}`);
    const overtaken = input && (input.dataset.fresh || queue.some((later) => later.spot === entry.spot));
    if (input && code !== "done" && !overtaken && document.activeElement !== input) { input.value = entry.fields.line; input.dataset.dirty = "1"; }
    if (told && code === "done") {
      for (const later of queue) {
        if (later.spot === entry.spot && later.fields.expected === entry.fields.expected) {
          later.fields.expected = told.dataset.version || "";
          store.write(later);
        }
      }
    }
  };

  // In a grid the unit in its head goes without saying: that of this page, whatever unit somebody else counts in.
  const beside = (input, shown) => {
    const unit = input.closest("table") ? ` ${input.closest("[data-group]").dataset.unit}` : "";
    return unit !== " " && shown.endsWith(unit) ? shown.slice(0, shown.length - unit.length) : shown;
  };

  // Boxes show what is on file, unless somebody is typing there or something typed still waits or was refused.
  const sync = () => {
    const waiting = new Set(queue.map((entry) => entry.spot));
    for (const told of all("[id^=told-]")) {
      const input = byId(`in-${told.id.slice(5)}`);
      told.closest(".box, .cell")?.classList.toggle("next", told.dataset.next === "1");
      input?.closest(".typing")?.classList.toggle("filled", !input.dataset.dirty && input.value !== "");
      if (!input || input.dataset.dirty || waiting.has(told.id.slice(5))) continue;
      const shown = beside(input, told.dataset.shown || "");
      if (input.value !== shown) input.value = shown;
      input.closest(".typing")?.classList.toggle("filled", shown !== "");
    }
    for (const table of all("table.paper")) {
      if (!waiting.has(table.id)) paperShow(table, byId(`told-${table.id}`).dataset.rows || "");
    }
  };

  // ---- typing ---------------------------------------------------------------------------------------------
  const boxes = () => all("input[id^=in-]").filter((box) => !box.disabled && box.offsetParent);

  const sentOf = (input, line) => {
    const group = input.closest("[data-group]");
    const pick = (name) => { const part = group && group.querySelector(`[name=${name}]`); return part ? part.value : ""; };
    const told = byId(`told-${input.id.slice(3)}`);
    const named = /^\s*[a-z]/i.test(line) ? { seen: seen(group) } : {}; // the line may name another place
    return {
      box: input.id.slice(3), line, unit: group.dataset.unit, gauge: pick("gauge"), zero: pick("zero"),
      expected: told.dataset.version || "", ...named,
    };
  };

  // What is typed and not entered yet outlives a page that the system puts away.
  const draft = (input) => {
    try {
      if (input) localStorage.setItem(drafted, JSON.stringify([input.id, input.value])); else localStorage.removeItem(drafted);
    } catch { /* for this page only */ }
  };
  const redraft = () => {
    try {
      const [id, line] = JSON.parse(localStorage.getItem(drafted)) || [];
      const input = id && byId(id);
      if (input && line && !input.disabled) { input.value = line; input.dataset.dirty = "1"; }
    } catch { /* nothing was typed */ }
  };

  // So do the words of a form of their own, until the page itself tells them among what was entered.
  const drafts = (input, sent) => {
    try { localStorage.setItem(`${drafted}.${input.id}`, JSON.stringify([input.value, sent])); } catch { /* for this page only */ }
  };
  const rewritten = (input) => {
    try {
      const name = `${drafted}.${input.id}`;
      const [text, sent] = JSON.parse(localStorage.getItem(name)) || [""];
      const told = sent && all(".mark.good", input.closest(".step") || page).some((line) => line.textContent.trim() === text.trim());
      if (told || !text) localStorage.removeItem(name); else input.value = text;
    } catch { /* nothing was typed */ }
  };

  const enter = (input) => {
    clearTimeout(pause);
    draft(null);
    delete input.dataset.fresh;
    const line = input.value.trim();
    if (!input.dataset.dirty || !line) { delete input.dataset.dirty; sync(); return; }
    delete input.dataset.dirty;
    usual = line.length;
    keep(page.dataset.readings, sentOf(input, line), input.id.slice(3));
  };

  // While somebody pauses over a line, the server works out what it would mean: Enter then finds the answer ready.
  // A line as long as the one before is likely to be whole.
  let pause = null;
  let usual = 0;
  const ahead = (input) => {
    clearTimeout(pause);
    pause = setTimeout(() => {
      const line = input.value.trim();
      if (!line || queue.length || byId("link").className.includes("off")) return;
      fetch(page.dataset.ahead, {
        method: "POST", redirect: "error", headers: { "X-CSRFToken": token() }, body: new URLSearchParams({ ...sentOf(input, line), key: uuid() }),
      }).catch(() => { /* the entry itself will say so */ });
    }, input.value.trim().length < usual ? 300 : 50);
  };

  const seen = (group) => all("[id^=told-][data-version]", group).filter((told) => told.dataset.version)
    .map((told) => `${told.id.slice(5)}:${told.dataset.version}`).join(" ");

  const next = (input, step) => {
    const table = input.closest("table");
    const order = boxes();
    if (table && table.dataset.order === "down") {
      const grid = all("input[id^=in-]", table).filter((box) => !box.disabled);
      const columns = table.querySelector("tbody tr").querySelectorAll("input").length;
      const rows = grid.length / columns;
      const at = grid.indexOf(input);
      const to = (at % columns) * rows + Math.floor(at / columns) + step;
      if (to >= 0 && to < grid.length) return grid[(to % rows) * columns + Math.floor(to / rows)];
      const outside = order.filter((box) => !table.contains(box) || box === (step > 0 ? grid[grid.length - 1] : grid[0]));
      return outside[outside.indexOf(step > 0 ? grid[grid.length - 1] : grid[0]) + step];
    }
    return order[order.indexOf(input) + step];
  };

  const typedInto = (input) => {
    input.dataset.dirty = input.dataset.fresh = "1";
    input.closest(".typing")?.classList.remove("filled");
    draft(input);
    ahead(input);
  };

  const go = (box) => {
    if (!box) return;
    const fold = box.closest("details:not([open])");
    if (fold) fold.open = true;
    box.focus();
    box.select();
    box.scrollIntoView({ block: "nearest" });
  };

  document.addEventListener("input", (event) => {
    if (event.target.matches("[data-words]")) drafts(event.target, false);
    if (!event.target.matches("input[id^=in-]")) return;
    typedInto(event.target);
  });
  document.addEventListener("submit", (event) => { for (const input of all("[data-words]", event.target)) drafts(input, true); });
  // A form of its own leaves the page: only when the server answers, else what is typed in it stays before the eyes.
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.method !== "post" || !page.contains(form) || form.closest(".attached")) return;
    event.preventDefault();
    try { await fetch("/away.js", { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(8000) }); } catch {
      status("off", page.dataset.wordsForm);
      return;
    }
    form.submit();
  });
  document.addEventListener("focusin", (event) => { if (event.target.matches("input[id^=in-]")) event.target.select(); });
  // Big keys make no `change`: a line is entered by leaving its box whatever typed it.
  document.addEventListener("focusout", (event) => { if (event.target.dataset.fresh && document.hasFocus()) enter(event.target); });
  document.addEventListener("change", (event) => {
    if (event.target.matches("input[id^=in-]")) enter(event.target);
    if (event.target.matches("[id^=thickness-]")) paperSend(byId(event.target.id.slice(10)));
    if (event.target.matches("[data-order-of]")) byId(event.target.dataset.orderOf).dataset.order = event.target.value;
  });
  // A gauge that types like a keyboard ends a reading with Enter, with CR and LF (two of them), or with the tabulator:
  // each of these goes to the next place in measuring order, once. A key held down goes on once too.
  const ONE_END = 100; // ms between the two keys of one end; no hand enters two lines so fast
  let entered = -ONE_END;
  document.addEventListener("keydown", (event) => {
    if (event.repeat && event.key === "Enter" && event.target.closest("button[data-pass]")) event.preventDefault();
    const input = event.target.closest("input[id^=in-]");
    if (!input) return;
    const entering = event.key === "Enter";
    if (entering && (event.repeat || (!input.dataset.fresh && event.timeStamp - entered < ONE_END))) event.preventDefault();
    else if (entering || (event.key === "Tab" && input.dataset.fresh && !event.shiftKey)) {
      const to = next(input, event.shiftKey ? -1 : 1);
      if (!entering && !to) return;
      event.preventDefault();
      if (input.dataset.fresh) entered = event.timeStamp;
      enter(input);
      if (to) go(to); else input.blur();
    } else if (input.closest("table") && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
      event.preventDefault();
      const row = input.closest("tr");
      const beside = event.key === "ArrowDown" ? row.nextElementSibling : row.previousElementSibling;
      if (beside) go(all("input[id^=in-]", beside)[all("input[id^=in-]", row).indexOf(input)]);
    } else if (event.key === "Escape") {
      delete input.dataset.dirty;
      delete input.dataset.fresh;
      clearTimeout(pause);
      draft(null);
      settled(input.id.slice(3));
      sync();
    }
  });

  // ---- taps -----------------------------------------------------------------------------------------------
  document.addEventListener("click", (event) => {
    const cell = event.target.closest(".unrolled rect.cell");
    if (cell) return openPlace(cell);
    const button = event.target.closest("button");
    if (!button) return undefined;
    if (button.dataset.line) return again(button);
    if (button.dataset.take) return take(button.dataset.take);
    if (button.dataset.out) return keep(page.dataset.readings, { box: button.dataset.out, line: "-", entry: button.dataset.entry, expected: button.dataset.version }, button.dataset.out);
    if (button.dataset.again) return readAgain(button.dataset.again);
    if (button.dataset.mine) return paperMine(button);
    if (button.closest(".paper")) return paper(button);
    if (button.matches("[data-all-clean]")) return allClean(button);
    if (button.matches("[data-pass]")) return pass(button);
    if (button.matches("[data-back]")) return passBack(button);
    if (button.matches("[data-unfold]")) return unfold(button);
    if (button.matches("[data-go]")) return go(byId(`in-${button.dataset.go}`));
    if (button.matches("[data-pad-switch]")) return padSwitch();
    return undefined;
  });

  const openPlace = (cell) => {
    const cells = all("rect.cell", cell.closest("svg"));
    const stations = cell.closest("[data-stations]").dataset.stations.split(" ").map(Number);
    const at = cells.indexOf(cell);
    const blade = Math.floor(at / stations.length) + 1;
    const x = stations[at % stations.length];
    const heads = all("th[data-x]", byId("g-run-out_as_found")).map((head) => Math.abs(head.dataset.x - x));
    const near = all(`tbody tr:nth-child(${blade}) input[id^=in-]`, byId("g-run-out_as_found"))[heads.indexOf(Math.min(...heads))];
    fold(false);
    if (near && !near.disabled) { near.scrollIntoView({ block: "center" }); go(near); }
  };

  const again = (button) => {
    const input = byId(`in-${button.dataset.box}`);
    input.value = button.dataset.line;
    input.dataset.dirty = "1";
    enter(input);
  };

  const readAgain = (spot) => {
    const input = byId(`in-${spot}`);
    input.value = `${page.dataset.wordsAgain} `;
    input.dataset.dirty = "1";
    go(input);
    input.setSelectionRange(input.value.length, input.value.length);
  };

  const take = (spot) => {
    const input = byId(`in-${spot}`);
    if (input) delete input.dataset.dirty;
    settled(spot);
    sync();
    refresh();
  };

  const refresh = async () => {
    try {
      const answer = await fetch(`${page.dataset.answer}?have=${encodeURIComponent(have())}`, { redirect: "error", headers: { "HX-Request": "true" } });
      if (answer.ok) { for (const html of (await answer.text()).split("\n<!-- more -->\n")) if (html.trim()) place(html, null, "done"); reckoning(false); keepSeen(); return true; }
    } catch { /* the next entry will say so */ }
    return false;
  };

  const CYCLE = ["-", "c", "p", "u"];
  const paperSet = (button, letter) => {
    button.dataset.is = letter;
    const words = button.closest("table").dataset[`word${letter === "-" ? "None" : letter.toUpperCase()}`];
    button.textContent = words;
    button.setAttribute("aria-label", button.getAttribute("aria-label").replace(/: [^:]*$/, `: ${words}`));
  };
  // Sent with what the page showed before: of two people at one proof each has changed only what they tapped.
  const paperSend = (table) => {
    const rows = all("tbody tr", table).map((row) => all("button", row).map((button) => button.dataset.is).join(""));
    const before = queue.findLast((entry) => entry.spot === table.id);
    const paper = byId(`thickness-${table.id}`);
    keep(table.dataset.url, {
      when: table.dataset.when, stations: table.dataset.stations, rows: rows.join(" "),
      was: before ? before.fields.rows : byId(`told-${table.id}`).dataset.rows,
      thickness: paper.value, thickness_was: paper.defaultValue,
    }, table.id, true);
  };
  const paperShow = (table, rows) => {
    const letters = rows.replaceAll(" ", "");
    all("tbody button", table).forEach((button, i) => { if (letters[i] && letters[i] !== button.dataset.is) paperSet(button, letters[i]); });
  };
  const paperMine = (button) => {
    const table = byId(button.dataset.paper);
    const cells = all("tbody button", table);
    for (const spot of button.dataset.mine.split(" ")) { const [at, letter] = spot.split(":"); paperSet(cells[at], letter); }
    settled(table.id);
    paperSend(table);
  };
  const paper = (button) => {
    paperSet(button, CYCLE[(CYCLE.indexOf(button.dataset.is) + 1) % 4]);
    paperSend(button.closest("table"));
  };
  const allClean = (button) => {
    const table = byId(button.dataset.allClean);
    for (const cell of all("button[data-is='-']", table)) paperSet(cell, "c");
    paperSend(table);
  };

  // How many passes are done, those ticked or taken back that still wait to be sent among them.
  const counted = (count, { fields }) => (fields.back ? Number(fields.back) - 1 : Number(fields.pass || count));
  const done = () => queue.reduce(counted, Number(byId("done-passes")?.dataset.done || 0));
  // The pass after the last one ticked is shown, and the last one can be taken back.
  const ticked = () => {
    const back = byId("take-back");
    if (!back) return;
    const count = done();
    for (const part of all(".pass")) part.hidden = part.id !== `pass-${count + 1}`;
    back.hidden = count === 0;
    back.dataset.back = count;
    back.textContent = back.dataset.words.replace("{n}", count);
  };

  const ONE_TAP = 400; // ms: a traverse takes longer, a glove that bounces does not
  let tapped = -ONE_TAP;
  const pass = (button) => {
    if (performance.now() - tapped < ONE_TAP) return;
    tapped = performance.now();
    const number = Number(button.dataset.pass);
    keep(page.dataset.passes, { pass: number, infeed: button.dataset.infeed }, `pass-${number}`);
    ticked();
    (byId(`tick-${number + 1}`) || byId("take-back")).focus({ preventScroll: true });
  };
  const passBack = (button) => {
    if (performance.now() - tapped < ONE_TAP) return;
    tapped = performance.now();
    const number = Number(button.dataset.back);
    keep(page.dataset.passes, { back: number }, `back-${number}`);
    ticked();
    byId(`tick-${number}`)?.focus({ preventScroll: true });
  };

  const fold = (open) => {
    const now = byId("now");
    now.classList.toggle("open", open);
    for (const button of all("[data-unfold]")) {
      button.setAttribute("aria-expanded", String(open));
      button.textContent = open ? button.dataset.wordClose : button.dataset.wordOpen;
    }
  };
  const unfold = () => fold(!byId("now").classList.contains("open"));

  // ---- big keys for gloves --------------------------------------------------------------------------------
  const pad = byId("pad");
  let padOn = matchMedia("(pointer: coarse)").matches;
  try { padOn = localStorage.getItem("sparkout.pad") ? localStorage.getItem("sparkout.pad") === "on" : padOn; } catch { /* as the pointer says */ }
  const padShow = () => {
    for (const box of all("input[id^=in-]")) { if (padOn) box.inputMode = "none"; else box.removeAttribute("inputmode"); }
    for (const button of all("[data-pad-switch]")) button.setAttribute("aria-pressed", String(padOn));
    const typing = document.activeElement && document.activeElement.matches("input[id^=in-]");
    pad.hidden = !(padOn && typing);
    document.documentElement.classList.toggle("pad-open", !pad.hidden);
    if (!pad.hidden) document.activeElement.scrollIntoView({ block: "nearest" });
  };
  const padSwitch = () => {
    padOn = !padOn;
    try { localStorage.setItem("sparkout.pad", padOn ? "on" : "off"); } catch { /* for this page only */ }
    padShow();
  };
  document.addEventListener("focusin", padShow);
  document.addEventListener("focusout", () => setTimeout(padShow, 60));
  pad.addEventListener("pointerdown", (event) => event.preventDefault());
  pad.addEventListener("mousedown", (event) => event.preventDefault());
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button");
    const box = document.activeElement;
    if (!key || !box || !box.matches("input[id^=in-]")) return;
    if (key.dataset.key === "enter") box.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true, cancelable: true }));
    else {
      if (key.dataset.key === "back") box.setRangeText("", Math.max(0, box.selectionStart - (box.selectionStart === box.selectionEnd ? 1 : 0)), box.selectionEnd, "end");
      else box.setRangeText(key.dataset.key, box.selectionStart, box.selectionEnd, "end");
      typedInto(box);
    }
  });

  // ---- where you are --------------------------------------------------------------------------------------
  let current = "";
  const here = () => {
    for (const link of all(".rail a")) {
      if (link.hash === `#${current}`) {
        link.setAttribute("aria-current", "step");
        const strip = link.closest("ol"); // on a narrow page the rail is a strip: bring the step into it
        strip.scrollLeft = link.offsetLeft - (strip.clientWidth - link.offsetWidth) / 2;
      } else link.removeAttribute("aria-current");
    }
  };
  const watch = new IntersectionObserver((seen) => {
    for (const part of seen) if (part.isIntersecting) current = part.target.id;
    here();
  }, { rootMargin: "-20% 0px -70% 0px" });
  for (const step of all(".step")) watch.observe(step);

  // ---- the server away ------------------------------------------------------------------------------------
  // In a secure context (this machine's own address, or https) a service worker keeps the page as it was seen last.
  const lastSeen = () => {
    const away = byId("as-seen");
    const since = root.dataset.seen;
    away.hidden = !since;
    if (since) {
      const at = new Date(since);
      const day = at.toDateString() === new Date().toDateString() ? [] : [at.toLocaleDateString(root.lang)];
      away.textContent = page.dataset.wordsSeen.replace("{time}", [...day, at.toLocaleTimeString(root.lang, { hour: "2-digit", minute: "2-digit" })].join(" "));
      if (!queue.length) status("off", page.dataset.wordsAway);
    }
  };
  const connected = () => {
    if (!root.dataset.seen) return;
    delete root.dataset.seen;
    lastSeen();
    if (!queue.length) saved();
  };
  const askAgain = async () => {
    if (!root.dataset.seen) return;
    if (await refresh()) connected(); else setTimeout(askAgain, 3000);
  };
  let keeping = null;
  let worker = null;
  const keepSeen = () => {
    clearTimeout(keeping);
    keeping = setTimeout(() => {
      if (!worker || root.dataset.seen) return;
      const copy = root.cloneNode(true);
      for (const part of all("[style]", copy)) part.removeAttribute("style"); // set by script, not allowed in a page
      for (const box of all("[data-dirty]", copy)) { delete box.dataset.dirty; delete box.dataset.fresh; } // the copy holds what is on file
      worker.postMessage({ path: location.pathname, html: `<!doctype html>\n${copy.outerHTML}` });
    }, 1500);
  };
  if (isSecureContext && navigator.serviceWorker) {
    navigator.serviceWorker.register("/away.js").then(() => navigator.serviceWorker.ready)
      .then((ready) => { worker = ready.active; keepSeen(); }).catch(() => { /* the page works without */ });
  } else byId("not-secure").hidden = false;

  // ---- start ----------------------------------------------------------------------------------------------
  document.body.classList.add("at-bench");
  queue = store.read();
  for (const entry of queue) {
    const input = byId(`in-${entry.spot}`);
    if (input && entry.fields.line) input.value = entry.fields.line;
    if (entry.fields.rows) paperShow(byId(entry.spot), entry.fields.rows);
  }
  redraft();
  all("[data-words]").forEach(rewritten);
  addEventListener("online", pump);
  addEventListener("beforeunload", () => { for (const box of all("input[id^=in-][data-dirty]")) if (box === document.activeElement) enter(box); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { pump(); if (!queue.length) refresh(); } });
  ticked();
  mark();
  lastSeen();
  sync();
  pump();
  setTimeout(askAgain, 1000);
})();
