// One set of listeners serves every chart of the page, also those swapped in later.
const rowsOf = new WeakMap();
const place = new WeakMap();

const say = document.createElement("div");
say.className = "chart-say";
say.setAttribute("aria-live", "polite");
document.body.append(say);

function rows(chart) {
  const text = chart.dataset.rows;
  let known = rowsOf.get(chart);
  if (!known || known.text !== text) {
    known = { text, list: JSON.parse(text) };
    rowsOf.set(chart, known);
  }
  return known.list;
}

// Of the two drawings, the one that the width shows.
function drawing(chart) {
  const svg = [...chart.querySelectorAll("svg[data-at]")].find((s) => s.getClientRects().length);
  if (!svg) return null;
  return { svg, at: svg.dataset.at.split(" ").map(Number), down: svg.dataset.along === "y", box: svg.getBoundingClientRect(), view: svg.viewBox.baseVal };
}

function nearest(at, p) {
  let best = 0;
  at.forEach((a, i) => { if (Math.abs(a - p) < Math.abs(at[best] - p)) best = i; });
  return best;
}

function hide(chart) {
  chart.classList.remove("chart-live");
  const tip = chart.querySelector(".chart-tip");
  if (tip) tip.hidden = true;
}

function fill(chart, row) {
  let tip = chart.querySelector(".chart-tip");
  if (!tip) {
    tip = document.createElement("div");
    tip.className = "chart-tip";
    tip.setAttribute("aria-hidden", "true");
    chart.append(tip);
  }
  const head = document.createElement("strong");
  head.textContent = row[0];
  tip.replaceChildren(head, ...row.slice(1).map(([name, value]) => {
    const line = document.createElement("span");
    const figure = document.createElement("b");
    figure.textContent = value;
    line.append(name, figure);
    return line;
  }));
  tip.hidden = false;
  return tip;
}

function show(chart, d, i, pointer) {
  const scale = d.box.width / d.view.width;
  const p = d.at[i];
  const cursor = d.svg.querySelector(".chart-cursor");
  cursor.setAttribute(d.down ? "y1" : "x1", p);
  cursor.setAttribute(d.down ? "y2" : "x2", p);
  chart.classList.add("chart-live");
  place.set(chart, i);
  const tip = fill(chart, rows(chart)[i]);
  const home = chart.getBoundingClientRect();
  const x = d.down ? (pointer ? pointer.clientX - home.left : d.box.width / 2) : p * scale;
  const y = d.down ? p * scale + 12 : pointer ? pointer.clientY - home.top + 14 : 8;
  const right = x + 12 + tip.offsetWidth > home.width;
  tip.style.left = `${Math.max(0, right ? Math.min(x - 12, home.width) - tip.offsetWidth : x + 12)}px`;
  tip.style.top = `${y}px`;
}

function follow(event) {
  const chart = event.target.closest?.(".chart[data-rows]");
  document.querySelectorAll(".chart-live").forEach((c) => { if (c !== chart && c !== document.activeElement) hide(c); });
  const d = chart && drawing(chart);
  if (!d || !d.at.length) return;
  const p = d.down ? (event.clientY - d.box.top) / d.box.height * d.view.height : (event.clientX - d.box.left) / d.box.width * d.view.width;
  show(chart, d, nearest(d.at, p), event);
}

document.addEventListener("pointermove", follow);
document.addEventListener("pointerdown", follow);
document.addEventListener("focusout", (event) => { if (event.target.matches?.(".chart[data-rows]")) hide(event.target); });
document.addEventListener("keydown", (event) => {
  const chart = event.target;
  if (!chart.matches?.(".chart[data-rows]") || event.altKey || event.ctrlKey || event.metaKey) return;
  const d = drawing(chart);
  if (!d || !d.at.length) return;
  if (event.key === "Escape") return hide(chart);
  const last = d.at.length - 1;
  const now = place.get(chart) ?? -1;
  const next = { ArrowLeft: now - 1, ArrowUp: now - 1, ArrowRight: now + 1, ArrowDown: now + 1, PageUp: now - 10, PageDown: now + 10, Home: 0, End: last }[event.key];
  if (next === undefined) return;
  event.preventDefault();
  const i = Math.min(last, Math.max(0, next));
  show(chart, d, i, null);
  const row = rows(chart)[i];
  say.textContent = [row[0], ...row.slice(1).map(([name, value]) => `${name} ${value}`)].join("; ");
});
