"use strict";
// Looks, list of parts, and the row of numbers of what is pointed at.  Names are set as text only.
(function () {
  const root = document.documentElement;
  const look = document.getElementById("look");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");

  function isDark() {
    return root.dataset.look ? root.dataset.look === "dark" : dark.matches;
  }
  function nameLook() {
    look.textContent = isDark() ? "Light" : "Dark";
  }
  look.addEventListener("click", function () {
    root.dataset.look = isDark() ? "light" : "dark";
    nameLook();
  });
  dark.addEventListener("change", nameLook);
  nameLook();
  document.getElementById("print").addEventListener("click", function () {
    window.print();
  });

  const parts = document.getElementById("parts");
  if (parts) {
    for (const section of document.querySelectorAll(".sheet > section")) {
      const item = document.createElement("li");
      const link = document.createElement("a");
      link.href = "#" + section.id;
      link.textContent = section.querySelector("h2").textContent;
      item.appendChild(link);
      parts.appendChild(item);
    }
  }

  // ---- what is pointed at ----
  const tip = document.getElementById("tip");

  function rowOf(mark) {
    const figure = mark.closest("figure");
    for (const row of figure.querySelectorAll("tr[data-row]")) {
      if (row.dataset.row === mark.dataset.row) return row;
    }
    return null;
  }

  function show(mark) {
    const row = rowOf(mark);
    if (!row) return;
    const heads = row.closest("table").querySelectorAll("thead th");
    tip.replaceChildren();
    Array.from(row.cells).forEach(function (cell, k) {
      if (!cell.textContent) return;
      const line = document.createElement("div");
      const name = document.createElement("span");
      const value = document.createElement("b");
      name.textContent = k === 0 ? "" : heads[k].textContent;
      value.textContent = cell.textContent;
      line.append(name, value);
      tip.appendChild(line);
    });
    tip.hidden = false;
    const box = mark.getBoundingClientRect();
    const size = tip.getBoundingClientRect();
    const wide = document.documentElement.clientWidth;
    const left = Math.min(Math.max(8, box.left + box.width / 2 - size.width / 2), wide - size.width - 8);
    const above = box.top - size.height - 8;
    tip.style.left = left + "px";
    tip.style.top = (above > 8 ? above : Math.min(box.bottom + 8, window.innerHeight - size.height - 8)) + "px";
  }

  function hide() {
    tip.hidden = true;
    for (const mark of document.querySelectorAll(".pointed")) mark.classList.remove("pointed");
  }

  function point(mark) {
    hide();
    mark.classList.add("pointed");
    show(mark);
  }

  for (const drawing of document.querySelectorAll("figure.chart .drawing")) {
    drawing.addEventListener("pointerover", function (event) {
      const mark = event.target.closest("[data-row]");
      if (mark) point(mark);
      else hide();
    });
    drawing.addEventListener("pointerleave", hide);
    drawing.addEventListener("blur", hide);
    drawing.addEventListener("keydown", function (event) {
      const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (event.key === "Escape") hide();
      if (!step) return;
      const seen = Array.from(drawing.querySelectorAll("[data-row]")).filter(function (mark) {
        return mark.getClientRects().length > 0;
      });
      const marks = seen.filter(function (mark, k) {
        return k === 0 || seen[k - 1].dataset.row !== mark.dataset.row;
      });
      if (!marks.length) return;
      event.preventDefault();
      const row = (drawing.querySelector(".pointed") || { dataset: {} }).dataset.row;
      const now = marks.findIndex(function (mark) {
        return mark.dataset.row === row;
      });
      point(marks[now < 0 ? 0 : Math.min(Math.max(0, now + step), marks.length - 1)]);
    });
  }
  window.addEventListener("scroll", function () {
    const mark = document.querySelector(".pointed");
    if (mark) show(mark);
  }, { passive: true });
})();
