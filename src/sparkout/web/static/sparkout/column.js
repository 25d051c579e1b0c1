// A column of boxes: Enter goes down, a column copied from a spreadsheet is pasted down.
(() => {
  "use strict";
  const down = (box) => {
    const prefix = box.name.slice(0, 1) === "m" ? "h" : box.name.slice(0, 1);
    const all = [...document.querySelectorAll("[data-column] input:not([type=checkbox])")];
    const kin = all.filter((other) => other.name.startsWith(`${prefix}-`) || other === box);
    return kin.slice(kin.indexOf(box) + 1);
  };
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("[data-column] input:not([type=checkbox])")) return;
    const [next] = down(event.target);
    event.preventDefault();
    (next || document.querySelector("form button.main-one")).focus();
    if (next) next.select();
  });
  document.addEventListener("paste", (event) => {
    if (!event.target.matches("[data-column] input:not([type=checkbox])")) return;
    const rows = event.clipboardData.getData("text").replace(/\r?\n$/, "").split(/\r?\n/);
    if (rows.length < 2) return;
    event.preventDefault();
    const boxes = [event.target, ...down(event.target)];
    rows.slice(0, boxes.length).forEach((row, i) => {
      const [first, second] = row.split("\t");
      boxes[i].value = first.trim();
      const beside = second === undefined ? null : document.getElementById(boxes[i].id.replace(/^h-/, "a-"));
      if (beside && beside !== boxes[i]) beside.value = second.trim();
    });
    const last = boxes[Math.min(rows.length, boxes.length) - 1];
    last.focus();
  });
})();
