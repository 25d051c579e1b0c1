// Faults: goes on from what the server reckoned ahead, asks it for more, and again when it is back.
(() => {
  "use strict";
  const by = (id) => document.getElementById(id), root = document.documentElement;
  const box = by("found"), off = by("off"), ahead = by("ahead"), pages = JSON.parse(ahead.textContent);
  let at = box.dataset.now, worker;
  const keep = () => { // for when it is opened again without the server
    box.dataset.now = at;
    ahead.textContent = JSON.stringify(pages).replaceAll("<", "\\u003c");
    worker?.postMessage({ path: "/why/", html: root.outerHTML });
  };
  const draw = () => { if (pages[at]) { box.innerHTML = pages[at]; (by("asked") || box).focus(); keep(); } };
  const ask = async () => {
    const asked = at, had = pages[at];
    try {
      Object.assign(pages, await (await fetch(box.dataset.ahead + asked)).json());
      off.hidden = true;
      if (at === asked) (had ? keep : draw)();
    } catch { off.hidden = false; }
  };
  const go = (address) => { at = address; draw(); ask(); };
  box.addEventListener("click", (event) => {
    const to = event.target.closest("[data-goes]")?.getAttribute("href");
    if (!to || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    history.pushState(null, "", to);
    go(to);
  });
  addEventListener("popstate", () => go(location.search || "?"));
  setInterval(() => { if (!off.hidden) ask(); }, 4000);
  pages[at] = box.innerHTML;
  if (root.dataset.seen) { off.hidden = false; history.replaceState(null, "", at); }
  navigator.serviceWorker?.register("/away.js").then(() => navigator.serviceWorker.ready).then((ready) => { worker = ready.active; keep(); });
})();
