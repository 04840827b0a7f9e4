"use strict";
// Plays one shift back on a plan.  What is told of an instant comes from the story alone: nothing is simulated here.
(() => {
  const root = document.getElementById("replay");
  if (!root) return;
  const { story, plan, looks, arrows } = JSON.parse(document.getElementById("replay-data").textContent);
  const find = (name) => root.querySelector(`[data-part=${name}]`);
  const canvas = find("stage"), pen = canvas.getContext("2d");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const FLIGHT = 350; // ms on the screen that a unit or a person takes from place to place
  const P = story.places, length = story.length;
  const machineOf = story.stores.length, actorOf = machineOf + story.machines.length;

  // Reading the story -----------------------------------------------------------------------------------

  class Changes { // [time, value, step, value ...] as sorted times with their values
    constructor(flat) {
      this.t = new Float64Array(flat.length / 2);
      this.v = new Int32Array(flat.length / 2);
      let at = 0;
      for (let k = 0; k < this.t.length; k++) { at += flat[2 * k]; this.t[k] = at; this.v[k] = flat[2 * k + 1]; }
      this.k = 0;
    }
    index(at) { // the last change at or before a time; quick where time goes on
      let k = this.k;
      if (this.t[k] > at || (k + 8 < this.t.length && this.t[k + 8] <= at)) k = lastAt(this.t, at);
      while (k + 1 < this.t.length && this.t[k + 1] <= at) k++;
      return (this.k = Math.max(k, 0));
    }
    at(at) { return this.v[this.index(at)]; }
  }
  function lastAt(times, at) { // index of the last time at or before `at`, -1 = none
    let low = 0, high = times.length;
    while (low < high) { const mid = (low + high) >> 1; if (times[mid] <= at) low = mid + 1; else high = mid; }
    return low - 1;
  }
  const running = (steps) => { let sum = 0; return Float64Array.from(steps, (x) => (sum += x)); };

  const machines = story.machines.map((m) => ({ ...m, changes: new Changes(m.changes) }));
  const actors = story.actors.map((a, number) => ({
    ...a, number, changes: new Changes(a.changes), where: new Changes(a.where),
    starts: Float64Array.from(a.moves, (m) => m[0]), code: code(a.name),
  }));
  const stores = story.stores.map((s) => ({ ...s, changes: new Changes(s.changes) }));
  const good = running(story.good), scrap = running(story.scrap);

  function code(name) { // a name that fits on a disc
    if (name.length <= 3) return name;
    const digits = name.match(/\d+$/);
    return digits ? name[0] + digits[0].slice(-2) : name.slice(0, 2);
  }

  // All changes of place of all units in order of time, and where they are at the cursor.
  const moves = (() => {
    const rows = [];
    story.units.forEach((way, unit) => {
      let at = 0;
      for (let k = 1; k < way.length; k += 2) {
        at += way[k];
        rows.push([at, unit, k > 1 ? way[k - 1] : null, way[k + 1]]);
      }
    });
    return rows.sort((a, b) => a[0] - b[0]);
  })();
  const units = { next: 0, at: -1, place: new Int32Array(story.units.length), count: new Int32Array(P.length), inside: 0 };
  function seek(at) { // go to a time: onwards from the cursor, or anew from the start
    if (at < units.at) { units.next = 0; units.place.fill(-9); units.count.fill(0); units.inside = 0; }
    if (units.at < 0) units.place.fill(-9);
    units.at = at;
    while (units.next < moves.length && moves[units.next][0] <= at) {
      const [, unit, , to] = moves[units.next++];
      const before = units.place[unit];
      if (before >= 0) units.count[before]--; else units.inside++;
      if (to >= 0) units.count[to]++; else units.inside--;
      units.place[unit] = to;
    }
  }

  function moveOf(actor, at) { // the way under way, with the share of it that is done
    const k = lastAt(actor.starts, at);
    if (k < 0 || actor.moves[k][1] <= at) return null;
    const [start, end, from, to, share, reached] = actor.moves[k];
    return { from, to, share: share + (reached - share) * (at - start) / (end - start) };
  }

  function spot(place, at, who) { // where somebody stands at a place; who is at a robot stands where it is
    const [kind, name] = P[place];
    if (kind === "actor" && who !== undefined && place !== actorOf + who) {
      const there = actors[place - actorOf].where.at(at);
      return spot(there, at, P[there][0] === "actor" ? undefined : place - actorOf);
    }
    if (kind === "machine") {
      const m = plan.machines[name], s = plan.stations[machines[place - machineOf].station];
      return [m[0] + m[2] / 2, s[1] - 13];
    }
    const box = plan[{ store: "stores", actor: "actors", point: "points" }[kind]][name];
    if (kind === "actor") return [box[0] + box[2] - 14, box[1] + box[3] / 2];
    return kind === "store" ? [box[0] + box[2] / 2, box[1] - 13] : [box[0] + box[2] + 14, box[1] + box[3] / 2];
  }
  function standing(actor, at) { // the exact point of a person or robot
    const move = moveOf(actor, at), who = actor.number;
    if (!move) return spot(actor.where.at(at), at, who);
    const [x0, y0] = spot(move.from, at, who), [x1, y1] = spot(move.to, at, who);
    return [x0 + (x1 - x0) * move.share, y0 + (y1 - y0) * move.share];
  }

  function told(at) { // everything that holds at a time, in names
    seek(at);
    const named = (rows, f) => Object.fromEntries(rows.map((row) => [row.name, f(row)]));
    const held = {};
    units.count.forEach((n, place) => { if (n) held[P[place].join(" ")] = n; });
    return {
      machines: named(machines, (m) => story.states.machine[m.changes.at(at)]),
      actors: named(actors, (a) => {
        const move = moveOf(a, at);
        return {
          state: story.states.actor[a.changes.at(at)], place: P[a.where.at(at)], spot: standing(a, at),
          moving: move && { from: P[move.from], share: Math.round(move.share * 1e4) / 1e4 },
        };
      }),
      stores: named(stores, (s) => s.changes.at(at)),
      units: held, good: lastAt(good, at) + 1, scrap: lastAt(scrap, at) + 1, inside: units.inside,
      stops: stopsAt(at).map((s) => [s[3], s[4]]),
    };
  }
  const stopsAt = (at) => story.stops.filter((s) => s[0] <= at && (s[2] === null || at < s[2]));

  // Drawing -----------------------------------------------------------------------------------------------

  const still = document.createElement("canvas");
  let colours = {}, scale = 1;
  function readColours() {
    const style = getComputedStyle(root);
    for (const name of ["paper", "ink", "quiet", "line", "accent", "shade", "target"]) {
      colours[name] = style.getPropertyValue(`--${name}`).trim();
    }
  }
  function roundBox(to, [x, y, w, h], r) {
    to.beginPath();
    to.roundRect(x, y, w, h, r);
  }
  function write(to, text, x, y, size, colour, bold) {
    to.font = `${bold ? "600 " : ""}${size}px "Source Sans 3", "Noto Sans", "Segoe UI", "DejaVu Sans", sans-serif`;
    to.fillStyle = colour;
    to.textAlign = "center";
    to.textBaseline = "middle";
    to.fillText(text, x, y);
  }
  function fitted(to, text, x, y, size, colour, bold, room) { // smaller where it would not fit
    to.font = `${bold ? "600 " : ""}${size}px "Source Sans 3", "Noto Sans", "Segoe UI", "DejaVu Sans", sans-serif`;
    const wide = to.measureText(text).width;
    write(to, text, x, y, wide > room ? size * room / wide : size, colour, bold);
  }
  function drawStill() { // all that does not move, once
    readColours();
    const wide = canvas.clientWidth || plan.width, dots = window.devicePixelRatio || 1;
    scale = wide / plan.width * dots;
    for (const c of [canvas, still]) { c.width = Math.round(plan.width * scale); c.height = Math.round(plan.height * scale); }
    const to = still.getContext("2d");
    to.setTransform(scale, 0, 0, scale, 0, 0);
    to.fillStyle = colours.paper;
    to.fillRect(0, 0, plan.width, plan.height);
    to.lineJoin = "round";
    for (const [, , main, corners] of plan.arrows) drawWay(to, corners, main ? colours.accent : colours.quiet, main ? 2 : 1);
    for (const [name, box] of Object.entries(plan.stores)) {
      if (!box[2]) continue;
      roundBox(to, box, 4);
      to.fillStyle = colours.shade; to.fill();
      to.strokeStyle = colours.quiet; to.lineWidth = 1;
      to.setLineDash(name === "release" || name === "finished" ? [2, 3] : []); to.stroke(); to.setLineDash([]);
      const y = box[1] + (box[4].length > 1 ? 9 : 13);
      box[4].forEach((line, k) => fitted(to, line, box[0] + box[2] / 2, y + 11 * k, 11, colours.ink, false, box[2] - 4));
    }
    for (const box of Object.values(plan.points)) {
      roundBox(to, box, 3);
      to.strokeStyle = colours.quiet; to.setLineDash([3, 3]); to.stroke(); to.setLineDash([]);
      fitted(to, box[4][0], box[0] + box[2] / 2, box[1] + box[3] / 2, 11, colours.quiet, false, box[2] - 4);
    }
    for (const [name, box] of Object.entries(plan.stations)) {
      roundBox(to, box, 5);
      to.fillStyle = colours.paper; to.fill();
      to.strokeStyle = colours.ink; to.lineWidth = 1.4; to.stroke();
      const low = Math.min(...machines.filter((m) => m.station === name).map((m) => plan.machines[m.name][1]));
      const middle = (box[1] + low) / 2 + 1, lines = box[4];
      lines.forEach((line, k) => fitted(to, line, box[0] + box[2] / 2, middle + 13 * (k - (lines.length - 1) / 2),
        lines.length > 1 ? 11.5 : 13, colours.ink, true, box[2] - 6));
    }
  }
  function drawWay(to, corners, colour, wide) {
    to.strokeStyle = to.fillStyle = colour;
    to.lineWidth = wide;
    to.beginPath();
    corners.forEach(([x, y], k) => (k ? to.lineTo(x, y) : to.moveTo(x, y)));
    to.stroke();
    const [x1, y1] = corners[corners.length - 1], [x0, y0] = corners[corners.length - 2];
    const far = Math.hypot(x1 - x0, y1 - y0) || 1, dx = (x1 - x0) / far, dy = (y1 - y0) / far, s = 4 + wide;
    to.beginPath();
    to.moveTo(x1, y1);
    to.lineTo(x1 - s * dx - s / 2 * dy, y1 - s * dy + s / 2 * dx);
    to.lineTo(x1 - s * dx + s / 2 * dy, y1 - s * dy - s / 2 * dx);
    to.fill();
  }

  const look = (table, state) => looks[table][story.states[table][state]] || ["?", "#D0D0D0", "#000000", ""];

  function draw(at) {
    seek(at);
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(still, 0, 0);
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    stores.forEach((s, k) => drawStore(s, k, at));
    machines.forEach((m, k) => drawMachine(m, k, at));
    for (const a of actors) drawHome(a, at);
    drawFlights(at);
    drawActors(at);
  }
  function drawStore(store, k, at) {
    const box = plan.stores[store.name];
    if (!box[2]) return;
    const level = store.name === "finished" ? lastAt(good, at) + 1 : store.changes.at(at);
    const y = box[1] + box[3] - 15, w = box[2] - 10;
    if (store.places && store.name !== "finished") {
      pen.fillStyle = colours.line;
      pen.fillRect(box[0] + 5, y + 9, w, 3);
      pen.fillStyle = colours.accent;
      pen.fillRect(box[0] + 5, y + 9, w * Math.min(1, level / store.places), 3);
    }
    if (store.name === "release" && !level) return;
    const full = store.places && level >= store.places && store.name !== "finished";
    const text = store.places && store.name !== "finished" ? `${level} / ${store.places}` : `${level}`;
    fitted(pen, text, box[0] + box[2] / 2, y + 2, 11.5, full ? colours.target : colours.ink, full, box[2] - 6);
  }
  function drawMachine(m, k, at) {
    const [x, y, w, h] = plan.machines[m.name], [letter, fill, ink] = look("machine", m.changes.at(at));
    pen.fillStyle = fill;
    roundBox(pen, [x, y, w, h], 2);
    pen.fill();
    pen.strokeStyle = colours.ink; pen.lineWidth = 0.6; pen.stroke();
    const n = units.count[machineOf + k];
    const several = n > 1 && w > 40;
    write(pen, letter, x + (several ? 14 : w / 2), y + h / 2 + 0.5, Math.min(13, w * 0.62), ink, true);
    if (several) fitted(pen, `×${n}`, x + w / 2 + 7, y + h / 2 + 0.5, 11.5, ink, false, w - 34);
    if (n) disc(x + w - 1, y + 1, n > 1 ? 4.4 : 3.4);
  }
  function disc(x, y, r) { // a unit
    pen.beginPath();
    pen.arc(x, y, r, 0, 7);
    pen.fillStyle = colours.target; pen.fill();
    pen.strokeStyle = colours.paper; pen.lineWidth = 1.2; pen.stroke();
  }
  function drawHome(a, at) {
    const box = plan.actors[a.name], [letter, fill, ink] = look("actor", a.changes.at(at));
    roundBox(pen, box, 4);
    pen.fillStyle = colours.paper; pen.fill();
    pen.strokeStyle = colours.line; pen.lineWidth = 1; pen.stroke();
    pen.fillStyle = fill;
    roundBox(pen, [box[0] + 4, box[1] + 5, 18, 18], a.kind === "person" ? 9 : 2);
    pen.fill();
    pen.strokeStyle = colours.ink; pen.lineWidth = 0.6; pen.stroke();
    write(pen, letter, box[0] + 13, box[1] + 14.5, 11, ink, true);
    fitted(pen, box[4][0], box[0] + 24 + (box[2] - 28) / 2, box[1] + box[3] / 2, 12, colours.ink, false, box[2] - 30);
  }
  function middle(place, held) { // where a unit lies at a place
    const [kind, name] = P[place];
    if (kind === "actor") { const [x, y] = held(place - actorOf); return [x + 9, y + 8]; }
    const box = kind === "machine" ? plan.machines[name] : plan.stores[name];
    return kind === "machine" ? [box[0] + box[2] - 1, box[1] + 1] : [box[0] + box[2] / 2, box[1] + box[3] / 2];
  }
  function stationOrStore(place) {
    return P[place][0] === "machine" ? machines[place - machineOf].station : P[place][1];
  }
  let drawn = []; // where each person and robot is drawn now
  function drawFlights(at) {
    placeActors(at);
    const held = (a) => drawn[a];
    const span = calm.matches ? 0 : FLIGHT * speed;
    for (let k = units.next - 1; k >= 0 && moves[k][0] > at - span; k--) {
      const [when, unit, from, to] = moves[k];
      if (from === null || from < 0 || (to >= 0 && units.place[unit] !== to)) continue;
      const f = (at - when) / span, start = middle(from, held);
      if (to === -2) { cross(start[0], start[1] + 14 * f, 1 - f); continue; }
      if (to === -3 || to === -4) continue;
      const end = to === -1 ? middleOfFinished() : middle(to, held);
      const route = P[from][0] !== "actor" && (to < 0 || P[to][0] !== "actor")
        ? arrows[`${stationOrStore(from)}|${to < 0 ? "finished" : stationOrStore(to)}`] : undefined;
      const [x, y] = along(route === undefined ? [start, end] : [start, ...plan.arrows[route][3], end], f);
      disc(x, y, 4);
    }
    units.count.forEach((n, place) => { if (n && place >= actorOf && place < actorOf + actors.length) disc(...middle(place, held), n > 1 ? 4.8 : 4); });
  }
  const middleOfFinished = () => { const b = plan.stores.finished; return [b[0] + b[2] / 2, b[1] + b[3] / 2]; };
  function along(points, f) {
    let whole = 0;
    const far = points.slice(1).map(([x, y], k) => { const d = Math.hypot(x - points[k][0], y - points[k][1]); whole += d; return d; });
    let left = f * whole;
    for (let k = 0; k < far.length; k++) {
      if (left <= far[k] && far[k] > 0) {
        const g = left / far[k];
        return [points[k][0] + (points[k + 1][0] - points[k][0]) * g, points[k][1] + (points[k + 1][1] - points[k][1]) * g];
      }
      left -= far[k];
    }
    return points[points.length - 1];
  }
  function cross(x, y, alpha) { // a unit that is scrapped
    pen.globalAlpha = Math.max(0.1, alpha);
    pen.strokeStyle = colours.ink; pen.lineWidth = 2;
    pen.beginPath();
    pen.moveTo(x - 4, y - 4); pen.lineTo(x + 4, y + 4); pen.moveTo(x + 4, y - 4); pen.lineTo(x - 4, y + 4);
    pen.stroke();
    pen.globalAlpha = 1;
  }
  function placeActors(at) { // exact points, eased where somebody is elsewhere at once, side by side where several stand
    const span = calm.matches ? 0 : FLIGHT * speed, crowd = new Map();
    drawn = actors.map((a) => {
      let [x, y] = standing(a, at);
      const k = a.where.index(at), since = at - a.where.t[k];
      if (k > 0 && since < span && !moveOf(a, at) && !moveOf(a, a.where.t[k])) {
        const [x0, y0] = spot(a.where.v[k - 1], at, a.number), f = since / span, g = f * f * (3 - 2 * f);
        return [x0 + (x - x0) * g, y0 + (y - y0) * g];
      }
      const key = `${Math.round(x)},${Math.round(y)}`, n = crowd.get(key) || 0;
      crowd.set(key, n + 1);
      return [x + (n % 2 ? 1 : -1) * 23 * Math.ceil(n / 2), y];
    });
  }
  function drawActors(at) {
    actors.forEach((a, k) => {
      if (a.where.at(at) === actorOf + k && !moveOf(a, at)) return; // where he waits, his name plate shows him
      const [letter, fill, ink] = look("actor", a.changes.at(at)), [x, y] = drawn[k];
      const away = /^(break|off|absent)$/.test(story.states.actor[a.changes.at(at)]);
      pen.globalAlpha = away ? 0.4 : 1;
      roundBox(pen, [x - 11, y - 11, 22, 22], a.kind === "person" ? 11 : 3);
      pen.fillStyle = fill; pen.fill();
      pen.strokeStyle = colours.ink; pen.lineWidth = 1.2; pen.stroke();
      fitted(pen, a.code, x, y + 0.5, 11, ink, true, 17);
      pen.globalAlpha = 1;
    });
  }

  // Controls ----------------------------------------------------------------------------------------------

  let now = 0, speed = 60, playing = false, last = 0, told_at = -1e9;
  const slider = find("scrub"), clock = find("clock"), status = find("status"), toggle = find("play");
  const two = (n) => String(n).padStart(2, "0");
  function time(ms) {
    const s = Math.floor(ms / 1000) + (story.clock_s === null ? 0 : story.clock_s % 86400);
    const h = Math.floor(s / 3600);
    return `${story.clock_s === null ? h : two(h % 24)}:${two(Math.floor(s / 60) % 60)}:${two(Math.floor(s) % 60)}`;
  }
  const since = (ms) => (ms > 0 ? `since ${time(ms)}` : "since the start or before");
  const lines = machines.map((m, k) => ({ row: find("lines").children[k], shown: "" }));
  const people = actors.map((a, k) => ({ row: find("people").children[k], shown: "" }));
  function line(entry, parts, letter, fill, ink) { // rewrites a line only where it says something else
    const text = parts.join(" · ");
    if (entry.shown === letter + text) return;
    entry.shown = letter + text;
    const [mark, , does] = entry.row.children;
    mark.textContent = letter;
    mark.style.background = fill;
    mark.style.color = ink;
    does.textContent = text;
  }
  function tell(at) { // words and numbers beside the picture
    slider.value = at;
    slider.setAttribute("aria-valuetext", time(at));
    clock.textContent = time(at);
    find("good").textContent = lastAt(good, at) + 1;
    find("scrap").textContent = lastAt(scrap, at) + 1;
    find("inside").textContent = units.inside;
    const there = new Map();
    actors.forEach((a) => {
      const place = a.where.at(at), state = story.states.actor[a.changes.at(at)];
      if (!moveOf(a, at) && !/^(free|break|off|absent)$/.test(state)) there.set(place, [...(there.get(place) || []), a.name]);
    });
    machines.forEach((m, k) => {
      const i = m.changes.index(at), [letter, fill, ink, label] = look("machine", m.changes.v[i]);
      const n = units.count[machineOf + k], who = there.get(machineOf + k);
      const parts = [`${label} ${since(m.changes.t[i])}`];
      if (who) parts.push(who.join(", "));
      if (n > 1) parts.push(`${n} units`);
      line(lines[k], parts, letter, fill, ink);
    });
    actors.forEach((a, k) => {
      const i = a.changes.index(at), [letter, fill, ink, label] = look("actor", a.changes.v[i]);
      const where = P[a.where.at(at)], home = where[0] === "actor" && where[1] === a.name;
      const place = home ? "" : `${moveOf(a, at) ? "to " : "at "}${where[0] === "store" && where[1] === "release" ? "raw units" : where[1]}`;
      line(people[k], [`${label} ${since(a.changes.t[i])}`, ...(place ? [place] : [])], letter, fill, ink);
    });
    const stops = stopsAt(at);
    find("stops").textContent = stops.length
      ? stops.map((s) => `${s[3]}: ${s[4]}${s[1] === null || s[1] > at ? " (nobody is there yet)" : ""}`).join("; ") : "none";
    told_at = performance.now();
  }
  function show(at) {
    now = Math.min(Math.max(at, 0), length);
    draw(now);
    tell(now);
  }
  function frame(stamp) {
    if (!playing) return;
    const elapsed = last ? Math.min(stamp - last, 100) : 0;
    last = stamp;
    now = Math.min(now + elapsed * speed, length);
    draw(now);
    if (performance.now() - told_at > 200) tell(now);
    if (now >= length) { setPlaying(false); tell(now); return; }
    requestAnimationFrame(frame);
  }
  function setPlaying(on) {
    playing = on;
    last = 0;
    toggle.textContent = on ? "Pause" : "Play";
    if (on) { if (now >= length) now = 0; requestAnimationFrame(frame); } else tell(now);
  }
  function nextChange(at, ahead) { // the next or last instant at which a machine does something else
    let best = ahead ? length : 0;
    for (const m of machines) {
      const k = lastAt(m.changes.t, ahead ? at : at - 1), t = m.changes.t[ahead ? k + 1 : k];
      if (t !== undefined && (ahead ? t < best : t > best)) best = t;
    }
    return best;
  }
  function jump(at, words) {
    setPlaying(false);
    show(at);
    status.textContent = words;
  }
  function nextStop() {
    const stop = story.stops.filter((s) => s[0] > now).sort((a, b) => a[0] - b[0])[0];
    if (stop) jump(stop[0], `${time(stop[0])}: ${stop[3]} stops: ${stop[4]}`);
    else status.textContent = "no stop begins later in this shift";
  }
  function worstHour() {
    const hour = story.hours[story.worst_hour];
    if (hour) jump(hour.start, `The worst hour: ${hour.label}, ${hour.good} good units`);
  }
  toggle.addEventListener("click", () => setPlaying(!playing));
  find("back").addEventListener("click", () => jump(nextChange(now, false), ""));
  find("step").addEventListener("click", () => jump(nextChange(now, true), ""));
  find("worst").addEventListener("click", worstHour);
  find("stop").addEventListener("click", nextStop);
  find("speed").addEventListener("change", (event) => { speed = Number(event.target.value); if (!playing) draw(now); });
  slider.addEventListener("input", () => jump(Number(slider.value), ""));
  root.addEventListener("keydown", (event) => {
    if (event.target.matches("select, input, summary") || event.ctrlKey || event.altKey || event.metaKey) return;
    const far = event.shiftKey ? 60000 : 10000;
    const act = {
      " ": () => event.target.matches("button") || setPlaying(!playing),
      ArrowRight: () => jump(now + far, ""), ArrowLeft: () => jump(now - far, ""),
      ArrowUp: () => jump(nextChange(now, true), ""), ArrowDown: () => jump(nextChange(now, false), ""),
      Home: () => jump(0, ""), End: () => jump(length, ""), w: worstHour, n: nextStop,
    }[event.key];
    if (!act) return;
    if (act() !== true) event.preventDefault();
  });
  function redraw() { drawStill(); draw(now); }
  new ResizeObserver(redraw).observe(canvas);
  new MutationObserver(redraw).observe(document.documentElement, { attributes: true, attributeFilter: ["data-look"] });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  drawStill();
  show(0);
  window.cellsimReplay = {
    at: (seconds) => { const held = now, out = told(Math.round(seconds * 1000)); draw(held); return out; },
    goTo: (seconds) => jump(seconds * 1000, ""),
    play: () => setPlaying(true), pause: () => setPlaying(false),
    now: () => now / 1000, drawn: () => drawn.map(([x, y]) => [x, y]),
  };
})();
