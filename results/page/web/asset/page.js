"use strict";
(() => {
const data = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);

// Numbers as the rest of the page writes them: three digits and a fitting unit.
const digits = (v) => {
  if (v === 0) return "0";
  const a = Math.abs(v);
  if (a < 1e-3 || a >= 999500) return v.toExponential(2).replace("e+", "e").replace(/\.?0+e/, "e");
  const p = Math.max(0, 2 - Math.floor(Math.log10(a) + 1e-12));
  const s = v.toFixed(Math.min(p, 6));
  return s.includes(".") ? s.replace(/\.?0+$/, "") : String(Math.round(v));
};
const spans = [[172800, 86400, "d"], [7200, 3600, "h"], [120, 60, "min"], [1, 1, "s"], [1e-3, 1e-3, "ms"], [1e-6, 1e-6, "us"], [0, 1e-9, "ns"]];
const time = (s) => {
  if (s === 0) return "0 s";
  const u = spans.find((u) => Number(s.toPrecision(3)) >= u[0]) || spans[3];
  return digits(s / u[1]) + " " + u[2];
};
const inUnit = (v, unit) => unit === "s" ? time(v) : unit === "s per month" ? time(v) : unit === "share" && (v === 0 || v >= 1e-3) ? digits(100 * v) + " %" : digits(v);

// placed are the ticks of an axis whose scale is logarithmic or never moves: those
// of the drawing, and 1, 2 and 5 times powers of ten closer by.
function placed(u, key, a) {
  const low = u.scales[key].min, high = u.scales[key].max;
  const there = a.at.filter((v) => v >= low && v <= high);
  if (!a.log || there.length >= 3) return there;
  const out = [];
  for (let k = Math.floor(Math.log10(low)); k <= Math.log10(high); k++)
    for (const m of [1, 2, 5]) { const v = Number((m * 10 ** k).toPrecision(3)); if (v >= low && v <= high) out.push(v); }
  return out;
}

// Charts: zoom by dragging or by buttons, read off by pointer or by slider. The
// drawing that was there stays for paper.
const style = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const dashes = [[], [8, 4], [2, 3], [10, 3, 2, 3], []];
const faint = (colour, share) => {
  const n = parseInt(colour.slice(1), 16);
  return `rgba(${n >> 16},${(n >> 8) & 255},${n & 255},${share})`;
};
const live = [];
function chart(box, d) {
  const figure = box.closest("figure"), still = box.firstElementChild;
  const hold = document.createElement("div");
  hold.className = "live";
  hold.setAttribute("aria-hidden", "true"); // the drawing beside it has the words
  box.append(hold);
  still.classList.add("still");
  const series = [{}], bands = [];
  for (const l of d.lines) {
    const k = style("--k" + l.style), step = l.step ? uPlot.paths.stepped({align: 1}) : undefined;
    series.push({stroke: l.second ? faint(k, .6) : k, width: l.second ? 4.5 : 2.2, dash: dashes[l.style], paths: step, points: {show: false}});
    if (l.band) {
      const at = series.length;
      for (let i = 0; i < 2; i++) series.push({stroke: "transparent", width: 0, paths: step, points: {show: false}});
      bands.push({series: [at + 1, at], fill: faint(k, Number(style("--band")))});
    }
  }
  const outputs = [...figure.querySelectorAll("output")];
  const where = [];
  d.lines.reduce((at, l) => { where.push(at); return at + (l.band ? 3 : 1); }, 1);
  const slider = document.createElement("input");
  const readAt = document.createElement("span");
  const soft = style("--soft"), rule = style("--rule");
  // The ticks of the drawing while all of it is shown, those of uPlot closer by.
  const all = (u, key, a) => u.scales[key].min <= a.low * 1.001 && u.scales[key].max >= a.high * .999;
  const axis = (a, key) => ({label: a.label, stroke: soft, grid: {stroke: rule, width: 1}, ticks: {stroke: rule}, labelFont: "13px system-ui", font: "12px system-ui",
    filter: (u, splits) => splits, splits: key === "y" || a.log ? (u) => placed(u, key, a) : undefined,
    values: (u, splits) => splits.map((v) => v === null ? "" : all(u, key, a) && a.at.includes(v) ? a.text[a.at.indexOf(v)] : inUnit(v, a.unit))});
  const u = new uPlot({
    width: Math.max(280, hold.clientWidth), height: 330, legend: {show: false}, series, bands,
    scales: {x: {time: false, distr: d.x.log ? 3 : 1, range: (u, low, high) => low === null ? [d.x.low, d.x.high] : [Math.max(low, d.x.low), Math.min(high, d.x.high)]}, y: {distr: d.y.log ? 3 : 1, range: [d.y.low, d.y.high]}},
    axes: [{...axis(d.x, "x"), size: 44, labelSize: 22}, {...axis(d.y, "y"), size: 62, labelSize: 22}],
    cursor: {y: false, drag: {x: true, y: false}, points: {show: false}},
    hooks: {setCursor: [(u) => {
      const i = u.cursor.idx;
      outputs.forEach((o, n) => { const v = i == null ? null : u.data[where[n]][i]; o.textContent = v == null ? "" : inUnit(v, d.y.unit); });
      readAt.textContent = i == null ? "" : inUnit(u.data[0][i], d.x.unit);
      if (i != null) slider.value = i;
    }]},
  }, d.data, hold);
  const whole = () => u.setScale("x", {min: d.x.low, max: d.x.high});
  whole();
  const zoom = (by) => {
    const f = d.x.log ? Math.log10 : (v) => v, g = d.x.log ? (v) => 10 ** v : (v) => v;
    const i = u.cursor.idx, low = f(u.scales.x.min), high = f(u.scales.x.max);
    const middle = i == null ? (low + high) / 2 : f(Math.max(u.data[0][i], 1e-12));
    const half = (high - low) / 2 * by;
    u.setScale("x", {min: Math.max(d.x.low, g(middle - half)), max: Math.min(d.x.high, g(middle + half))});
  };
  const controls = document.createElement("div");
  controls.className = "controls";
  const button = (text, what, act) => {
    const b = document.createElement("button");
    b.type = "button"; b.textContent = text; b.setAttribute("aria-label", text + ": " + what); b.onclick = act;
    controls.append(b);
  };
  const what = figure.querySelector("h3").textContent;
  button("Closer", what, () => zoom(.5));
  button("Wider", what, () => zoom(2));
  button("All of it", what, whole);
  slider.type = "range"; slider.min = 0; slider.max = d.data[0].length - 1; slider.value = 0;
  slider.oninput = () => {
    const i = Number(slider.value), x = u.data[0][i];
    if (x < u.scales.x.min || x > u.scales.x.max) whole();
    u.setCursor({left: u.valToPos(x, "x"), top: 0});
    slider.setAttribute("aria-valuetext", readAt.textContent + "; " + outputs.map((o, n) => d.lines[n].name + " " + o.textContent).join("; "));
  };
  const label = document.createElement("label");
  label.append("Read off at", slider, readAt);
  controls.append(label);
  box.append(controls);
  live.push({u, hold, box, d, controls, still});
}
function draw() {
  for (const c of live.splice(0)) { c.u.destroy(); c.hold.remove(); c.controls.remove(); c.still.classList.remove("still"); }
  for (const box of document.querySelectorAll("[data-chart]")) chart(box, data.charts[box.dataset.chart]);
}
draw();
let width = innerWidth;
addEventListener("resize", () => {
  if (innerWidth === width) return;
  width = innerWidth;
  for (const c of live) c.u.setSize({width: Math.max(280, c.box.clientWidth), height: 330});
});
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);

// The list of faults.
const f = data.faults, columns = data.columns, rows = f.rows || [];
const lostAt = columns.findIndex((c) => c.head === "lost");
const words = {
  of: (v) => f.of[v], mode: (v) => f.modes[v], by: (v) => f.by[v], phase: (v) => f.phases[v], background: (v) => data.backgrounds[v],
  time, day: digits, whole: String, text: String,
};
const cell = (row, c) => row[c] === null ? "-" : words[columns[c].form](row[c]);
const byWords = new Set(["of", "mode", "by", "phase", "text"]);
let sort = {column: lostAt, down: true}, at = 0, chosen = rows;
const body = document.querySelector("#faults-table tbody");
const heads = [...document.querySelectorAll("#faults-table th")];
function choose() {
  const text = $("filter-words").value.trim().toLowerCase(), kind = $("filter-kind").value, seen = $("filter-seen").value, gray = $("filter-gray").checked;
  chosen = rows.filter((r) => {
    const mode = r[3];
    return (!kind || f.kinds[mode] === kind) && (!gray || f.gray[mode]) && (!seen || (r[9] === null) === (seen === "no")) &&
      (!text || (f.modes[mode] + " " + f.kinds[mode] + " " + r[4]).toLowerCase().includes(text));
  });
  const c = sort.column, name = byWords.has(columns[c].form), sign = sort.down ? -1 : 1;
  if (c !== lostAt || !sort.down) {
    chosen = chosen.slice().sort((a, b) => {
      if (a[c] === null || b[c] === null) return (a[c] === null) - (b[c] === null); // what never happened comes last
      return sign * (name ? cell(a, c).localeCompare(cell(b, c), "en", {numeric: true}) : a[c] - b[c]);
    });
  }
  at = 0;
  show();
}
function show() {
  const list = chosen.slice(at, at + data.shown);
  body.replaceChildren(...list.map((r) => {
    const tr = document.createElement("tr");
    for (const h of heads) {
      const td = document.createElement("td");
      td.textContent = cell(r, Number(h.dataset.column));
      tr.append(td);
    }
    return tr;
  }));
  $("faults-count").textContent = chosen.length === 0 ? "No fault passes the filter." : `${at + 1} to ${at + list.length} of ${chosen.length} faults`;
  $("pager-back").disabled = at === 0;
  $("pager-on").disabled = at + data.shown >= chosen.length;
}
for (const h of heads) {
  const b = document.createElement("button"), c = Number(h.dataset.column);
  b.type = "button"; b.textContent = h.textContent;
  h.replaceChildren(b);
  b.onclick = () => {
    sort = {column: c, down: sort.column === c ? !sort.down : !byWords.has(columns[c].form)};
    for (const o of heads) o.removeAttribute("aria-sort");
    h.setAttribute("aria-sort", sort.down ? "descending" : "ascending");
    choose();
  };
}
$("filter").hidden = $("pager").hidden = false;
$("filter").onsubmit = (e) => e.preventDefault();
for (const id of ["filter-words", "filter-kind", "filter-seen", "filter-gray"]) $(id).addEventListener("input", choose);
$("pager-back").onclick = () => { at = Math.max(0, at - data.shown); show(); };
$("pager-on").onclick = () => { at += data.shown; show(); };
choose();
})();
