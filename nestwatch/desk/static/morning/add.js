// A dig that the tool missed: scrub through the night, point at the spot, say when.

import { get, getPicture, post } from "./api.js";
import { sayThere, tell, trying } from "./told.js";

const SVG = "http://www.w3.org/2000/svg";
const FRAMES = 12;
const STEP_S = 10; // the slider's
const form = document.getElementById("add");
const element = (id) => document.getElementById(id);
const night = form.dataset.night;
const state = { strip: null, at: 0, spot: null, aim: null, url: null, asked: 0, turn: 0 };
const times = { from: null, to: null }; // instants set from the slider; null where the keeper typed

const camera = () => element("camera").selectedOptions[0];
const size = () => [Number(camera().dataset.width), Number(camera().dataset.height)];
const base = () => `/api/night/${night}/camera/${camera().value}`;

function clock(at) {
  const zone = { timeZone: form.dataset.zone, hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" };
  return new Intl.DateTimeFormat("en-GB", zone).format(new Date(at * 1000));
}

function shape(name, values) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
  return made;
}

// Crosses scale with the picture's own pixels, so that they look the same on every camera.
function cross(place, radius) {
  const [x, y] = place;
  const path = `M${x - 2 * radius},${y}h${4 * radius}M${x},${y - 2 * radius}v${4 * radius}`;
  return ["casing", "stroke"].flatMap((kind) => [
    shape("path", { class: `cross-${kind}`, d: path }),
    shape("circle", { class: `cross-${kind}`, cx: x, cy: y, r: radius }),
  ]);
}

function draw() {
  const radius = size()[0] / 50;
  element("spot").replaceChildren(...(state.spot ? cross(state.spot, radius) : []));
  element("aim").replaceChildren(...(state.aim ? cross(state.aim, radius / 2) : []));
  element("spot-words").textContent = state.spot
    ? `The spot is set: pixel ${state.spot.map(Math.round).join(", ")}.`
    : "The spot is not set yet.";
}

async function showStill() {
  const turn = ++state.turn;
  element("clock").textContent = clock(state.at);
  try {
    const url = await getPicture(`${base()}/still?at=${state.at}`);
    if (turn !== state.turn) return URL.revokeObjectURL(url);
    if (state.url) URL.revokeObjectURL(state.url);
    state.url = url;
    element("still-image").setAttribute("href", url);
    element("still-image").dataset.shown = state.at;
    element("no-still").hidden = true;
  } catch (error) {
    if (turn !== state.turn) return;
    element("still-image").removeAttribute("href");
    element("no-still").textContent = error.message;
    element("no-still").hidden = false;
  }
}

function moveTo(at) {
  const { from, to } = state.strip;
  state.at = from + STEP_S * Math.round((Math.min(Math.max(at, from), to) - from) / STEP_S);
  element("slider").value = state.at;
  element("slider").setAttribute("aria-valuetext", clock(state.at));
  for (const button of element("film").querySelectorAll("button"))
    button.setAttribute("aria-pressed", String(Number(button.dataset.at) === nearest(state.at)));
  element("clock").textContent = clock(state.at);
  clearTimeout(state.asked);
  state.asked = setTimeout(showStill, 120);
}

function frameTimes() {
  const { from, to } = state.strip;
  return Array.from({ length: FRAMES }, (_, n) => Math.round(from + ((n + 0.5) * (to - from)) / FRAMES));
}

function nearest(at) {
  return frameTimes().reduce((best, each) => (Math.abs(each - at) < Math.abs(best - at) ? each : best));
}

// One after the other: each still has to be read from the footage.
async function showFilm(wanted) {
  for (const button of element("film").querySelectorAll("button")) {
    if (state.strip !== wanted) return;
    try {
      const image = new Image();
      image.alt = "";
      image.src = await getPicture(`${base()}/still?small=1&at=${button.dataset.at}`);
      button.prepend(image);
    } catch (error) {
      button.classList.add("none");
      button.prepend("no picture");
    }
  }
}

function frame(at) {
  const item = document.createElement("li");
  const button = Object.assign(document.createElement("button"), { type: "button" });
  button.dataset.at = at;
  button.append(Object.assign(document.createElement("span"), { textContent: clock(at).slice(0, 5) }));
  item.append(button);
  return item;
}

function bar(name, start, end) {
  const { from, to } = state.strip;
  const units = (at) => (1000 * (at - from)) / (to - from);
  return shape("rect", { class: name, x: units(start), width: Math.max(units(end) - units(start), 1), height: 10 });
}

async function choose() {
  const strip = await get(`${base()}/strip`);
  Object.assign(state, { strip, spot: null, aim: null });
  const [width, height] = size();
  element("still").setAttribute("viewBox", `0 0 ${width} ${height}`);
  Object.assign(element("slider"), { min: strip.from, max: strip.to });
  const bars = strip.recorded.map(([start, end]) => bar("seen", start, end));
  element("recorded").replaceChildren(...bars, bar("nesting-line", ...strip.nesting));
  element("film").replaceChildren(...frameTimes().map(frame));
  draw();
  const start = strip.recorded.length ? Math.max(strip.recorded[0][0], strip.nesting[0]) : strip.nesting[0];
  moveTo(start + 60);
  showFilm(strip);
}

function setSpot(place) {
  const [width, height] = size();
  const inside = ([x, y]) => [Math.min(Math.max(x, 0), width), Math.min(Math.max(y, 0), height)];
  state.spot = inside(place).map((value) => Math.round(value * 10) / 10);
  state.aim = null;
  draw();
}

function pointed(event) {
  const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(
    element("still").getScreenCTM().inverse(),
  );
  setSpot([place.x, place.y]);
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function aimed(event) {
  const [width, height] = size();
  const aim = state.aim || state.spot || [width / 2, height / 2];
  const arrow = ARROWS[event.key];
  if (event.key === "Enter") setSpot(aim);
  else if (arrow) {
    const step = (event.shiftKey ? 10 : 1) * (width / 400);
    state.aim = [0, 1].map((n) => Math.min(Math.max(aim[n] + step * arrow[n], 0), [width, height][n]));
    draw();
  } else return;
  event.preventDefault();
}

function setTime(name) {
  times[name] = state.at;
  element(name).value = clock(state.at).slice(0, 5);
}

// An instant from the slider is exact, also in the hour that the clocks show twice.
function when(name) {
  return times[name] === null ? element(name).value : new Date(times[name] * 1000).toISOString().replace(/\.\d+Z$/, "Z");
}

function place() {
  const texts = ["plan-x", "plan-y"].map((id) => (element(id) ? element(id).value.trim().replace(",", ".") : ""));
  return texts.every((text) => text === "") ? null : texts.map((text) => (text === "" ? NaN : Number(text)));
}

function told(sure) {
  const source = new FormData(form).get("source");
  const common = { source, from: when("from"), to: when("to"), note: element("note").value, sure };
  if (source === "footage") return { ...common, camera: camera().dataset.name, pixel: state.spot };
  return { ...common, pen: element("pen") ? element("pen").value : null, plan: place() };
}

function missing(entry) {
  if (!entry.from || !entry.to) return "Say when it began and when it ended.";
  if (entry.source === "footage" && !entry.pixel) return "Click in the picture where the eggs lie.";
  if (entry.plan && entry.plan.some(Number.isNaN)) return "Write both numbers of the place on the plan, in metres.";
  return null;
}

async function enter(sure) {
  const entry = told(sure);
  const lacks = missing(entry);
  if (lacks) return tell(lacks);
  const added = await trying(() => post(`/api/night/${night}/dig`, entry), () => enter(true));
  if (!added) return;
  sayThere(added.said);
  location.assign(`/night/${added.night}?dig=${added.dig}`);
}

function showParts() {
  const footage = new FormData(form).get("source") === "footage";
  element("footage-part").hidden = !footage;
  element("eye-part").hidden = footage;
  for (const button of form.querySelectorAll(".here")) button.hidden = !footage;
}

element("camera").addEventListener("change", () => trying(choose));
element("slider").addEventListener("input", (event) => moveTo(Number(event.target.value)));
element("film").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (button) moveTo(Number(button.dataset.at));
});
element("still").addEventListener("click", pointed);
element("still").addEventListener("keydown", aimed);
element("brighter").addEventListener("click", (event) => {
  const bright = element("still").classList.toggle("bright");
  event.currentTarget.setAttribute("aria-pressed", String(bright));
});
for (const name of ["from", "to"]) {
  element(`${name}-here`).addEventListener("click", () => setTime(name));
  element(name).addEventListener("input", () => (times[name] = null));
}
form.addEventListener("click", (event) => {
  const button = event.target.closest("[data-by]");
  if (button) moveTo(state.at + Number(button.dataset.by));
});
form.addEventListener("change", showParts);
form.addEventListener("submit", (event) => {
  event.preventDefault();
  enter(false);
});
showParts();
trying(choose);
