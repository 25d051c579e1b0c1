// The season on the wall: a job is taken up by pointer or key, moved, and kept or let go; the server says what it costs.
(() => {
  "use strict";
  const TURNS = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: -7, ArrowDown: 7 };
  const wall = document.querySelector("[data-wall]");
  const panel = document.getElementById("move");
  if (!wall || !panel) return;
  const { start, first, last, wide } = wall.dataset;
  const dayOf = (link) => Number(link.dataset.day);
  const jobs = () => [...wall.querySelectorAll("a[data-day]")];
  let held = null; // { link, day, ghost }
  let timer = 0;

  const named = (link) => new URL(link.getAttribute("href"), location.href).searchParams.get("job");
  const inTurn = () => jobs().sort((a, b) => a.dataset.row - b.dataset.row || dayOf(a) - dayOf(b));
  const only = (link) => { for (const job of jobs()) job.setAttribute("tabindex", job === link ? "0" : "-1"); };
  const go = (link) => { if (link) { only(link); link.focus(); } };

  const ask = () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      if (!held) return;
      const on = new Date(`${start}T00:00:00Z`);
      on.setUTCDate(on.getUTCDate() + held.day);
      const query = new URLSearchParams({ job: named(held.link), on: on.toISOString().slice(0, 10), part: "1" });
      htmx.ajax("GET", `${wall.dataset.wall}?${query}`, { source: panel, target: panel, swap: "innerHTML" });
    }, 120);
  };
  const place = (day) => {
    const to = Math.min(Math.max(day, Number(first)), Number(last));
    if (to === held.day) return;
    held.day = to;
    held.ghost.setAttribute("transform", `translate(${(to - dayOf(held.link)) * wide} 0)`);
    ask();
  };
  const letGo = (back = true) => {
    if (!held) return;
    const { link, ghost } = held;
    clearTimeout(timer);
    ghost.remove();
    held = null;
    panel.replaceChildren();
    if (back) go(link);
  };
  const take = (link) => {
    letGo(false);
    const ghost = link.querySelector("rect").cloneNode();
    ghost.setAttribute("class", "ghost");
    link.after(ghost);
    held = { link, day: dayOf(link), ghost };
    only(link);
    ask();
  };
  const keep = () => {
    const form = panel.querySelector("form[data-keep]");
    const shown = form && held && form.dataset.keep === String(held.day) && form.elements.job.value === named(held.link);
    if (shown) form.requestSubmit();
  };
  panel.addEventListener("click", (event) => { if (event.target.closest("[data-let-go]") && held) { event.preventDefault(); letGo(); } });

  wall.addEventListener("keydown", (event) => {
    const link = event.target.closest("a[data-day]");
    if (!link || event.altKey || event.ctrlKey || event.metaKey) return;
    const turn = TURNS[event.key];
    if (held && turn) place(held.day + turn);
    else if (held && event.key === "Enter") keep();
    else if (held && event.key === "Escape") letGo();
    else if (!held && (event.key === "Enter" || event.key === " ")) take(link);
    else if (!held && turn) {
      const all = inTurn();
      const beside = all.filter((job) => Math.sign(job.dataset.row - link.dataset.row) === Math.sign(turn));
      const near = turn > 0 ? beside[0] : beside.at(-1);
      const row = beside.filter((job) => near && job.dataset.row === near.dataset.row);
      const off = (job) => Math.abs(dayOf(job) - dayOf(link));
      go(Math.abs(turn) === 1 ? all[all.indexOf(link) + turn] : row.sort((a, b) => off(a) - off(b))[0]);
    } else return;
    event.preventDefault();
  });
  document.addEventListener("keydown", (event) => { if (event.key === "Escape") letGo(); });

  // A finger on a job moves the job, not the page: browsers do not agree on touch-action within a drawing.
  wall.addEventListener("touchmove", (event) => { if (event.target.closest("a[data-day]")) event.preventDefault(); }, { passive: false });
  wall.addEventListener("dragstart", (event) => event.preventDefault());
  wall.addEventListener("pointerdown", (event) => {
    const link = event.target.closest("a[data-day]");
    if (!link || event.button) return;
    const across = wide * wall.querySelector("svg").getBoundingClientRect().width / wall.querySelector("svg").viewBox.baseVal.width;
    let drawn = false;
    link.setPointerCapture(event.pointerId);
    const from = event.clientX;
    const move = (now) => {
      if (!drawn && Math.abs(now.clientX - from) < 6) return;
      if (!drawn) { take(link); drawn = true; }
      place(dayOf(link) + Math.round((now.clientX - from) / across));
    };
    const end = () => {
      link.removeEventListener("pointermove", move);
      link.dataset.drawn = drawn ? "1" : "";
      if (drawn) link.focus();
    };
    link.addEventListener("pointermove", move);
    link.addEventListener("pointerup", end, { once: true });
    link.addEventListener("pointercancel", end, { once: true });
  });
  wall.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-day]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (!link.dataset.drawn) take(link);
    link.dataset.drawn = "";
    link.focus();
  });

  const asked = new URLSearchParams(location.search);
  const [begin] = inTurn();
  const back = asked.has("done") && jobs().find((job) => named(job) === asked.get("job"));
  if (back) go(back); else if (begin) only(begin);
})();
