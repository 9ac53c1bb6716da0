// The pen's plan: posts, zones as the marks map them, how sure places are, and how far each mark is off.

import { make, points, set } from "./svg.js";

const EXAGGERATED = 10;
const DASHES = { nesting: null, water: "14 5", ignore: "2 5" };

export function drawPlan(svg, key, camera, drawing, judged) {
  svg.replaceChildren();
  key.replaceChildren();
  const pen = camera.pen;
  if (!pen) {
    set(svg, { viewBox: null });
    svg.classList.add("empty");
    return;
  }
  svg.classList.remove("empty");
  const frame = frameOf(pen);
  set(svg, { viewBox: frame.box.join(" ") });
  const plan = judged.plan;
  // y grows upwards on the plan and downwards on the screen.
  const flip = (outline) => outline.filter(Boolean).map(([x, y]) => [x, -y]);
  const u = frame.unit;
  if (plan) svg.append(...shade(plan, flip, u));
  svg.append(make("polygon", { class: "pen", points: points(flip(pen.outline)), "stroke-width": 2.5 * u }));
  if (plan) {
    for (const zone of plan.zones) svg.append(area(zone, flip, u));
    for (const mark of plan.marks) svg.append(...residual(pen, mark, u));
    if (plan.next) svg.append(stake(plan.next, u));
  }
  const marked = new Set(drawing.marks.map((mark) => mark.post));
  for (const post of pen.posts) svg.append(...postShapes(post, marked.has(post.name), frame));
  if (plan) drawKey(key, plan);
  set(svg, { "aria-label": summary(pen, marked, plan) });
}

function frameOf(pen) {
  const all = [...pen.outline, ...pen.posts.map((post) => post.at)];
  const [xs, ys] = [all.map((at) => at[0]), all.map((at) => -at[1])];
  const [left, top, right, bottom] = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  const size = Math.max(right - left, (bottom - top) * 1.2, 0.5);
  const margin = size * 0.1;
  return { box: [left - margin, top - margin, right - left + 2 * margin, bottom - top + 2 * margin], unit: (size + 2 * margin) / 400, right };
}

// The squares of the raster, cut at the zones they stand for.
function shade(plan, flip, u) {
  const nesting = plan.zones.filter((zone) => zone.kind === "nesting");
  const clip = make("clipPath", { id: "nesting-areas" }, ...nesting.map((zone) => make("polygon", { points: points(flip(zone.outline)) })));
  const cell = (size) => (one) =>
    make("polygon", { class: `cell-${one.level}`, points: points(flip(grown(one.quad, size))), "stroke-width": 0.6 * u });
  // Larger squares below fill the rim, where the raster's own end short of the outline.
  return [clip, make("g", { "clip-path": "url(#nesting-areas)" }, ...plan.shade.map(cell(3)), ...plan.shade.map(cell(1)))];
}

function grown(quad, times) {
  const [cx, cy] = [0, 1].map((axis) => quad.reduce((sum, corner) => sum + corner[axis], 0) / quad.length);
  return quad.map(([x, y]) => [cx + times * (x - cx), cy + times * (y - cy)]);
}

function area(zone, flip, u) {
  const dash = DASHES[zone.kind]?.split(" ").map((one) => one * u);
  return make("polygon", { class: "area", points: points(flip(zone.outline)), "stroke-width": 1.6 * u, "stroke-dasharray": dash?.join(" ") });
}

function residual(pen, mark, u) {
  const post = pen.posts.find((one) => one.name === mark.post);
  if (!post || !mark.seen) return [];
  const [x, y] = post.at;
  const end = [x + EXAGGERATED * (mark.seen[0] - x), y + EXAGGERATED * (mark.seen[1] - y)];
  return [make("line", { class: "off", x1: x, y1: -y, x2: end[0], y2: -end[1], "stroke-width": 3 * u })];
}

function stake(next, u) {
  const [x, y] = next.at;
  const r = 9 * u;
  return make("path", {
    class: "next",
    d: `M${x - r} ${-y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0M${x - r / 2} ${-y}h${r}M${x} ${-y - r / 2}v${r}`,
    "stroke-width": 2 * u,
  });
}

function postShapes(post, isMarked, { unit: u, right, box }) {
  const [x, y] = [post.at[0], -post.at[1]];
  const atEdge = x > right - box[2] * 0.2;
  const text = make("text", { x: x + (atEdge ? -7 : 7) * u, y: y - 6 * u, "font-size": 12.5 * u, "text-anchor": atEdge ? "end" : "start" });
  text.textContent = post.name;
  return [make("circle", { class: `post${isMarked ? " marked" : ""}`, cx: x, cy: y, r: 4.5 * u, "stroke-width": 1.8 * u }), text];
}

function drawKey(key, plan) {
  const used = new Set(plan.shade.map((cell) => cell.level));
  plan.classes.forEach((words, level) => {
    if (used.has(level)) key.append(entry(`box cell-${level}`, words));
  });
  if (used.size) key.prepend(Object.assign(document.createElement("li"), { textContent: "Places are known to" }));
  const item = document.createElement("li");
  item.textContent = `Short lines: how far a mark is off, drawn ${EXAGGERATED} times as long.`;
  key.append(item);
}

function entry(classes, words) {
  const [item, box] = [document.createElement("li"), document.createElement("span")];
  box.className = classes;
  item.append(box, words);
  return item;
}

function summary(pen, marked, plan) {
  const about = `Plan of ${pen.name}: ${pen.posts.length} posts, ${marked.size} of them marked in the picture.`;
  return plan ? `${about} ${plan.fit}` : about;
}
