// Every page: light or dark, and the settings htmx needs under a strict content security policy.
(() => {
  "use strict";
  const root = document.documentElement;
  const kept = () => { try { return localStorage.getItem("sparkout.light") || "auto"; } catch { return "auto"; } };
  const show = (choice) => {
    if (choice === "auto") delete root.dataset.light; else root.dataset.light = choice;
    for (const button of document.querySelectorAll("[data-set-light]")) {
      button.setAttribute("aria-pressed", String(button.dataset.setLight === choice));
    }
  };
  show(kept());
  document.addEventListener("DOMContentLoaded", () => show(kept()));
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-set-light]");
    if (!button) return;
    try { localStorage.setItem("sparkout.light", button.dataset.setLight); } catch { /* shown, only not kept */ }
    show(button.dataset.setLight);
  });
  // Units and words change in place: the page comes back where it was.
  const spot = () => `sparkout.at.${location.pathname}`;
  document.addEventListener("submit", (event) => {
    if (event.target.closest(".switches")) sessionStorage.setItem(spot(), String(scrollY));
  });
  addEventListener("load", () => {
    const top = sessionStorage.getItem(spot());
    if (top !== null) scrollTo({ top: Number(top), behavior: "instant" });
    sessionStorage.removeItem(spot());
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-print]")) window.print();
  });
})();
