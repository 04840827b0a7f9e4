"use strict";
// A lane for each station, person and robot: what each did from one moment to the next, to look into closely.
(() => {
  const root = document.getElementById("timelines");
  if (!root) return;
  const data = JSON.parse(document.getElementById("timelines-data").textContent);
  const find = (name) => root.querySelector(`[data-part=${name}]`);
  const canvas = find("lanes"), pen = canvas.getContext("2d"), detail = find("detail");
  const LANE = 18, GAP = 5, AXIS = 30, HEAD = 24, LEAST = 5000; // pixels; ms of the closest look
  const FONT = '"Source Sans 3", "Noto Sans", "Segoe UI", "DejaVu Sans", sans-serif';

  const lanes = data.lanes.map((lane) => {
    const read = (flat) => { let at = 0; return flat.reduce((out, x, k) => (k % 2 ? out[out.length - 1].push(x) : out.push([at += x]), out), []); };
    return { ...lane, changes: read(lane.changes), where: read(lane.where || []) };
  });
  const groups = [...new Set(lanes.map((lane) => lane.kind))];
  let y = AXIS;
  for (const kind of groups) {
    y += HEAD;
    for (const lane of lanes.filter((one) => one.kind === kind)) { lane.y = y; y += LANE + GAP; }
  }
  const height = y + 22;
  let from = 0, to = data.length, left = 120, wide = 900;
  let chosen = null; // [lane, interval] under the pointer or chosen by keys
  let colours = {};

  const lookOf = (lane, state) => data.looks[lane.kind][data.states[lane.kind][state]] || ["?", "#D0D0D0", "#000000", data.states[lane.kind][state], ""];
  const two = (n) => String(n).padStart(2, "0");
  function time(ms, seconds = true) {
    const s = Math.floor(ms / 1000) + (data.clock_s === null ? 0 : data.clock_s % 86400), h = Math.floor(s / 3600);
    const text = `${data.clock_s === null ? h : two(h % 24)}:${two(Math.floor(s / 60) % 60)}`;
    return seconds ? `${text}:${two(Math.floor(s) % 60)}` : text;
  }
  function lasts(ms) {
    if (ms < 60000) return `${Number((ms / 1000).toFixed(1))} s`;
    const s = Math.round(ms / 1000);
    return s < 3600 ? `${Math.floor(s / 60)} min ${s % 60} s` : `${Math.floor(s / 3600)} h ${Math.round(s / 60) % 60} min`;
  }
  const endOf = (lane, k) => (k + 1 < lane.changes.length ? lane.changes[k + 1][0] : data.length);
  function indexAt(rows, at) {
    let low = 0, high = rows.length;
    while (low < high) { const mid = (low + high) >> 1; if (rows[mid][0] <= at) low = mid + 1; else high = mid; }
    return Math.max(low - 1, 0);
  }
  const xOf = (at) => left + (at - from) / (to - from) * wide;
  const timeOf = (x) => from + (x - left) / wide * (to - from);

  // Drawing -----------------------------------------------------------------------------------------------

  const hatches = new Map();
  function hatch(signs, ink) { // a tile for the hatch of the printed pictures
    const key = signs + ink;
    if (!signs) return null;
    if (!hatches.has(key)) {
      const tile = document.createElement("canvas"), t = tile.getContext("2d");
      tile.width = tile.height = 8;
      t.strokeStyle = t.fillStyle = ink; t.lineWidth = 0.9; t.globalAlpha = 0.75;
      const line = (a, b, c, d) => { t.beginPath(); t.moveTo(a, b); t.lineTo(c, d); t.stroke(); };
      for (const sign of new Set(signs)) {
        if ("/x".includes(sign)) { line(-1, 9, 9, -1); line(-1, 1, 1, -1); line(7, 9, 9, 7); }
        if ("\\x".includes(sign)) { line(-1, -1, 9, 9); line(7, -1, 9, 1); line(-1, 7, 1, 9); }
        if ("|+".includes(sign)) line(4, 0, 4, 8);
        if ("-+".includes(sign)) line(0, 4, 8, 4);
        if (sign === "o") { t.beginPath(); t.arc(4, 4, 2, 0, 7); t.stroke(); }
        if (sign === ".") t.fillRect(2, 2, 1.6, 1.6);
      }
      hatches.set(key, pen.createPattern(tile, "repeat"));
    }
    return hatches.get(key);
  }
  function readColours() {
    const style = getComputedStyle(root);
    for (const name of ["paper", "ink", "quiet", "line", "accent", "shade", "target"]) colours[name] = style.getPropertyValue(`--${name}`).trim();
  }
  function resize() {
    readColours();
    const room = canvas.clientWidth || 900, dots = window.devicePixelRatio || 1;
    left = room < 600 ? 84 : 128;
    wide = room - left - 8;
    canvas.width = Math.round(room * dots);
    canvas.height = Math.round(height * dots);
    pen.setTransform(dots, 0, 0, dots, 0, 0);
    draw();
  }
  function write(text, x, at, size, colour, align, bold) {
    pen.font = `${bold ? "600 " : ""}${size}px ${FONT}`;
    pen.fillStyle = colour; pen.textAlign = align; pen.textBaseline = "middle";
    pen.fillText(text, x, at);
  }
  function cut(text, room, size) {
    pen.font = `${size}px ${FONT}`;
    let shown = text;
    while (shown.length > 1 && pen.measureText(shown === text ? shown : `${shown}…`).width > room) shown = shown.slice(0, -1);
    return shown === text ? text : `${shown}…`;
  }
  function draw() {
    pen.fillStyle = colours.paper;
    pen.fillRect(0, 0, left + wide + 8, height);
    drawAxis();
    for (const kind of groups) {
      const first = lanes.find((lane) => lane.kind === kind);
      write(data.heads[kind], 0, first.y - 10, 13, colours.quiet, "left", true);
    }
    for (const lane of lanes) {
      write(cut(lane.name, left - 12, 13), left - 8, lane.y + LANE / 2, 13, colours.ink, "right", false);
      drawLane(lane);
    }
    if (chosen) {
      const [lane, k] = chosen, a = Math.max(xOf(lane.changes[k][0]), left), b = Math.min(xOf(endOf(lane, k)), left + wide);
      if (b >= a) { pen.strokeStyle = colours.ink; pen.lineWidth = 2.5; pen.strokeRect(a - 1, lane.y - 2, Math.max(b - a, 1) + 2, LANE + 4); }
    }
  }
  function drawAxis() {
    const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400].map((s) => s * 1000);
    const step = steps.find((s) => s / (to - from) * wide > 74) || steps[steps.length - 1];
    const zero = data.clock_s === null ? 0 : (data.clock_s % 86400) * 1000;
    for (const [a, b, what] of data.pauses) {
      const x0 = Math.max(xOf(a), left), x1 = Math.min(xOf(b), left + wide);
      if (x1 <= x0) continue;
      pen.fillStyle = colours.shade;
      pen.fillRect(x0, AXIS - 4, x1 - x0, height - AXIS - 18);
      if (x1 - x0 > 36) write(what === "off" ? "not on" : what, (x0 + x1) / 2, AXIS + 5, 11, colours.quiet, "center", false);
    }
    pen.strokeStyle = colours.line; pen.lineWidth = 1;
    for (let at = Math.ceil((from + zero) / step) * step - zero; at <= to; at += step) {
      const x = xOf(at);
      pen.beginPath(); pen.moveTo(x, 22); pen.lineTo(x, height - 20); pen.stroke();
      for (const y of [11, height - 9]) write(time(at, step < 60000), Math.min(Math.max(x, left + 14), left + wide - 16), y, 12, colours.quiet, "center", false);
    }
  }
  function drawLane(lane) { // each column of pixels has the state that lasts longest in it
    const ms = (to - from) / wide, rows = lane.changes;
    let k = indexAt(rows, from), begun = 0, state = -1;
    for (let x = 0; x <= wide; x++) {
      let best = -1;
      if (x < wide) {
        const a = from + x * ms, b = a + ms;
        let most = -1;
        while (endOf(lane, k) <= a && k + 1 < rows.length) k++;
        for (let i = k; i < rows.length && rows[i][0] < b; i++) {
          const held = Math.min(endOf(lane, i), b) - Math.max(rows[i][0], a);
          if (held > most) { most = held; best = rows[i][1]; }
        }
      }
      if (best !== state) {
        if (state >= 0) drawRun(lane, state, left + begun, x - begun);
        begun = x; state = best;
      }
    }
  }
  function drawRun(lane, state, x, w) {
    const [letter, fill, ink, , signs] = lookOf(lane, state);
    pen.fillStyle = fill;
    pen.fillRect(x, lane.y, w, LANE);
    const pattern = w >= 5 && hatch(signs, ink === "#FFFFFF" ? "#FFFFFF" : "#55555B");
    if (pattern) { pen.fillStyle = pattern; pen.fillRect(x, lane.y, w, LANE); }
    if (w < 16) return;
    if (pattern) { pen.fillStyle = fill; pen.fillRect(x + w / 2 - 7, lane.y + 2, 14, LANE - 4); }
    write(letter, x + w / 2, lane.y + LANE / 2 + 0.5, 12, ink, "center", true);
  }

  // What is under the pointer, and where one looks ----------------------------------------------------------

  function tell() {
    if (!chosen) { detail.textContent = data.hint; return; }
    const [lane, k] = chosen, start = lane.changes[k][0], end = endOf(lane, k), [letter, , , label] = lookOf(lane, lane.changes[k][1]);
    const begins = start > 0 ? time(start) : `${time(0)} or before`, ends = end < data.length ? time(end) : `${time(end)} or later`;
    const place = lane.where.length ? data.places[lane.where[indexAt(lane.where, start)][1]] : "";
    detail.textContent = `${lane.name}: ${label} (${letter}), ${begins} to ${ends}, ${lasts(end - start)}${place && place !== lane.name ? `, at ${place}` : ""}`;
  }
  function choose(lane, k, follow) {
    chosen = lane ? [lane, k] : null;
    if (chosen && follow) {
      const start = lane.changes[k][0], end = endOf(lane, k), span = to - from;
      if (end < from || start > to || (start < from && end - start < span)) look(Math.max(0, (start + end) / 2 - span / 2), span);
    }
    tell();
    draw();
  }
  function look(start, span) {
    const length = Math.min(Math.max(span, LEAST), data.length);
    from = Math.min(Math.max(start, 0), data.length - length);
    to = from + length;
    find("span").textContent = `${time(from)} to ${time(to)}`;
    draw();
  }
  function zoom(factor, middle = (from + to) / 2) {
    const span = Math.min(Math.max((to - from) * factor, LEAST), data.length);
    look(middle - (middle - from) / (to - from) * span, span);
  }
  function pointed(event) {
    const box = canvas.getBoundingClientRect(), x = event.clientX - box.left, at = event.clientY - box.top;
    const lane = lanes.find((one) => at >= one.y - GAP / 2 && at < one.y + LANE + GAP / 2);
    return { x, lane, time: Math.min(Math.max(timeOf(x), from), to) };
  }
  find("in").addEventListener("click", () => zoom(0.5));
  find("out").addEventListener("click", () => zoom(2));
  find("earlier").addEventListener("click", () => look(from - (to - from) / 2, to - from));
  find("later").addEventListener("click", () => look(from + (to - from) / 2, to - from));
  find("whole").addEventListener("click", () => look(0, data.length));
  find("worst").addEventListener("click", () => { if (data.worst) look(data.worst[0], data.worst[1] - data.worst[0]); });
  const replay = find("replay");
  replay.hidden = !document.getElementById("replay");
  function showInReplay() {
    if (!chosen || !window.cellsimReplay) return;
    window.cellsimReplay.goTo(Math.max(chosen[0].changes[chosen[1]][0], from) / 1000);
    document.getElementById("replay").scrollIntoView({ block: "start" });
  }
  replay.addEventListener("click", showInReplay);

  canvas.addEventListener("wheel", (event) => {
    const near = event.ctrlKey || event.metaKey || document.activeElement === canvas;
    if (!near) return;
    event.preventDefault();
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) look(from + event.deltaX / wide * (to - from), to - from);
    else zoom(Math.exp(Math.max(-60, Math.min(60, event.deltaY)) / 200), pointed(event).time);
  }, { passive: false });

  const fingers = new Map();
  let pinch = null, dragged = 0;
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, event.clientX);
    dragged = 0;
    const xs = [...fingers.values()];
    pinch = xs.length === 2 ? { far: Math.max(Math.abs(xs[0] - xs[1]), 10), span: to - from, middle: pointed({ clientX: (xs[0] + xs[1]) / 2, clientY: 0 }).time } : null;
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (before === undefined) {
      const { x, lane, time: at } = pointed(event);
      if (lane && x >= left) choose(lane, indexAt(lane.changes, at), false); else if (chosen && document.activeElement !== canvas) choose(null);
      return;
    }
    fingers.set(event.pointerId, event.clientX);
    const xs = [...fingers.values()];
    if (pinch && xs.length === 2) {
      zoom(pinch.span * pinch.far / Math.max(Math.abs(xs[0] - xs[1]), 10) / (to - from), pinch.middle);
    } else if (xs.length === 1) {
      dragged += Math.abs(event.clientX - before);
      look(from - (event.clientX - before) / wide * (to - from), to - from);
    }
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => {
      if (fingers.delete(event.pointerId) && dragged < 4 && end === "pointerup") {
        const { x, lane, time: at } = pointed(event);
        if (lane && x >= left) choose(lane, indexAt(lane.changes, at), false);
      }
      pinch = null;
    });
  }
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const span = to - from, [lane, k] = chosen || [lanes[0], indexAt(lanes[0].changes, from)];
    const row = lanes.indexOf(lane), middle = Math.max((lane.changes[k][0] + Math.min(endOf(lane, k), to)) / 2, from);
    const other = (step) => { const next = lanes[Math.min(Math.max(row + step, 0), lanes.length - 1)]; choose(next, indexAt(next.changes, middle), true); };
    const act = {
      ArrowRight: () => (event.shiftKey ? look(from + span / 4, span) : choose(lane, Math.min(k + (chosen ? 1 : 0), lane.changes.length - 1), true)),
      ArrowLeft: () => (event.shiftKey ? look(from - span / 4, span) : choose(lane, Math.max(k - (chosen ? 1 : 0), 0), true)),
      ArrowDown: () => (chosen ? other(1) : choose(lane, k, true)), ArrowUp: () => (chosen ? other(-1) : choose(lane, k, true)),
      "+": () => zoom(0.5, middle), "=": () => zoom(0.5, middle), "-": () => zoom(2, middle),
      0: () => look(0, data.length), Home: () => choose(lane, 0, true), End: () => choose(lane, lane.changes.length - 1, true),
      Enter: showInReplay, Escape: () => choose(null),
    }[event.key];
    if (act) { act(); event.preventDefault(); }
  });
  new ResizeObserver(resize).observe(canvas.parentElement);
  new MutationObserver(resize).observe(document.documentElement, { attributes: true, attributeFilter: ["data-look"] });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", resize);
  canvas.style.height = `${height}px`;
  resize();
  look(0, data.length);
  tell();
  window.cellsimTimelines = {
    look: (start, end) => look(start * 1000, (end - start) * 1000), view: () => [from / 1000, to / 1000],
    spot: (name, seconds) => { const lane = lanes.find((one) => one.name === name); return [xOf(seconds * 1000), lane.y + LANE / 2, LANE]; },
  };
})();
