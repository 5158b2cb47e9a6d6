// Draws the charts over the picture that the server sent, with reasons on pointing and by arrow keys.
import { viewOf } from "./vendor/charts-vendor.js";

const figure = document.getElementById("chart");
const canvas = figure.querySelector(".canvas");
const tip = figure.querySelector(".tip");
const parts = JSON.parse(document.getElementById("chart-data").textContent);
const dark = matchMedia("(prefers-color-scheme: dark)");
const AXIS_ROOM = 52;

let view = null;
let marks = [];
let at = -1;

function show(text, x, y) {
  tip.textContent = text;
  tip.hidden = !text;
  if (!text) return;
  const room = figure.clientWidth - tip.offsetWidth;
  tip.style.left = `${Math.max(0, Math.min(x + 14, room))}px`;
  tip.style.top = `${y + 16}px`;
}

function tooltip(_handler, event, item, value) {
  if (!value) return show("");
  const box = figure.getBoundingClientRect();
  show(String(value), event.clientX - box.left, event.clientY - box.top);
}

// Goes to the entry of a set in the ledger, on the page of the ledger that has it.
function openEntry(part) {
  if (!part) return;
  if (document.getElementById(part)) {
    location.hash = part;
    return;
  }
  const query = new URLSearchParams(location.search);
  query.delete("page");
  query.delete("standing");
  query.set("set", part);
  location.assign(`?${query}#${part}`);
}

function filled(theme) {
  const spec = structuredClone(parts.specs[theme]);
  for (const source of spec.data) if (source.name in parts.rows) source.values = parts.rows[source.name];
  for (const signal of spec.signals) if (signal.name in parts.settings) signal.value = parts.settings[signal.name];
  return spec;
}

async function draw() {
  if (view) view.finalize();
  const spec = filled(dark.matches ? "dark" : "light");
  view = viewOf(spec, { container: canvas, renderer: "svg", tooltip, hover: true });
  view.addEventListener("click", (_event, item) => openEntry(item?.datum?.part));
  view.width(Math.max(220, figure.clientWidth - AXIS_ROOM));
  await view.runAsync();
  figure.classList.add("drawn");
  // A layer without marks has nothing to say to a screen reader.
  for (const layer of canvas.querySelectorAll("g.role-mark:empty")) layer.setAttribute("aria-hidden", "true");
  marks = inOrder([...canvas.querySelectorAll("[aria-roledescription='point'][aria-label]")]);
  at = -1;
}

// Panel by panel, each from the past to the present.
function inOrder(found) {
  const panels = [...canvas.querySelectorAll("g.role-scope")];
  const keyed = found.map((mark) => [panels.indexOf(mark.closest("g.role-scope")), mark.getBoundingClientRect().left, mark]);
  return keyed.sort((a, b) => a[0] - b[0] || a[1] - b[1]).map((key) => key[2]);
}

function place(mark) {
  const box = mark.getBoundingClientRect();
  const own = figure.getBoundingClientRect();
  return [box.left - own.left + box.width / 2, box.top - own.top + box.height / 2];
}

figure.addEventListener("keydown", (event) => {
  const step = { ArrowRight: 1, ArrowLeft: -1, Home: -Infinity, End: Infinity }[event.key];
  if (step !== undefined && marks.length) {
    event.preventDefault();
    at = at < 0 ? 0 : Math.min(Math.max(at + step, 0), marks.length - 1);
    show(marks[at].getAttribute("aria-label"), ...place(marks[at]));
  } else if (event.key === "Escape") {
    show("");
  } else if (event.key === "Enter" && at >= 0) {
    openEntry(marks[at].__data__?.datum?.part);
  }
});
figure.addEventListener("blur", () => show(""));

let waiting = 0;
let drawnAt = figure.clientWidth;
new ResizeObserver(() => {
  if (!view || figure.clientWidth === drawnAt) return;
  cancelAnimationFrame(waiting);
  waiting = requestAnimationFrame(() => {
    drawnAt = figure.clientWidth;
    view.width(Math.max(220, drawnAt - AXIS_ROOM)).runAsync();
  });
}).observe(figure);
dark.addEventListener("change", draw);
await draw();
