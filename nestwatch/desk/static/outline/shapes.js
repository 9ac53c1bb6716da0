// Draws zones, corners, marks and the cross over the still. Reads the state; changes nothing.

import { make, points, set, sync } from "./svg.js";

const DASHES = { nesting: null, water: [14, 5], ignore: [2, 5] }; // in line widths of the screen
const COARSE = matchMedia("(pointer: coarse)");

export class Shapes {
  constructor(svg, viewport, state, choice) {
    Object.assign(this, { svg, viewport, state, choice });
    this.still = make("image", { preserveAspectRatio: "none" });
    this.groups = Object.fromEntries(
      ["advice", "zones", "marks", "draft", "grips", "aim"].map((name) => [name, make("g", { class: name })]),
    );
    svg.append(this.still, ...Object.values(this.groups));
    this.judged = { mistakes: [], plan: null };
  }

  draw() {
    const [width, height] = this.state.camera.picture;
    set(this.still, { x: 0, y: 0, width, height });
    this.unit = this.viewport.unit;
    this.drawZones();
    this.drawMarks();
    this.drawGrips();
    this.drawDraft();
    this.drawAdvice();
    this.drawAim();
  }

  drawZones() {
    const wrong = new Set(this.judged.mistakes.map((one) => one.zone));
    sync(
      this.groups.zones,
      this.state.drawing.zones,
      (_, n) => `zone-${n}`,
      () =>
        make(
          "g",
          {},
          make("polygon", { class: "hit" }),
          make("polygon", { class: "casing" }),
          make("polygon", { class: "line" }),
        ),
      (group, zone, n) => {
        const chosen = this.choice.zone === n;
        set(group, { class: `zone${chosen ? " chosen" : ""}${wrong.has(n) ? " wrong" : ""}`, "data-zone": n });
        const [hit, casing, line] = group.children;
        for (const one of group.children) set(one, { points: points(zone.outline) });
        const thick = (chosen ? 3 : 2) * this.unit;
        set(casing, { "stroke-width": thick * 2.2 });
        set(line, { class: `line ${zone.kind}`, "stroke-width": thick, "stroke-dasharray": this.dash(zone.kind) });
        set(hit, { "stroke-width": 0 });
      },
    );
  }

  dash(kind) {
    return DASHES[kind]?.map((length) => length * this.unit).join(" ");
  }

  drawGrips() {
    const zone = this.state.drawing.zones[this.choice.zone];
    const mid = this.choice.mode === "look";
    const items = zone ? [...this.corners(zone), ...(mid ? this.middles(zone) : [])] : [];
    sync(
      this.groups.grips,
      items,
      (item) => `${item.what}-${item.n}`,
      (item) => (item.what === "corner" ? this.newCorner() : this.newMiddle()),
      (group, item) => (item.what === "corner" ? this.setCorner(group, zone, item) : this.setMiddle(group, item)),
    );
  }

  corners(zone) {
    return zone.outline.map((at, n) => ({ what: "corner", n, at }));
  }

  middles(zone) {
    const count = zone.outline.length;
    return zone.outline
      .map(([x, y], n) => {
        const [nx, ny] = zone.outline[(n + 1) % count];
        return { what: "mid", n, at: [(x + nx) / 2, (y + ny) / 2], long: Math.hypot(nx - x, ny - y) };
      })
      .filter((item) => item.long > 44 * this.unit);
  }

  newCorner() {
    return make(
      "g",
      { class: "grip corner", tabindex: 0, role: "button" },
      make("circle", { class: "hit" }),
      make("circle", { class: "ring" }),
      make("circle", { class: "knob" }),
    );
  }

  setCorner(group, zone, { n, at: [x, y] }) {
    const [hit, ring, knob] = group.children;
    const wrong = this.judged.mistakes.some((one) => one.zone === this.choice.zone && one.corner === n);
    set(group, {
      class: `grip corner${this.choice.corner === n ? " chosen" : ""}${wrong ? " wrong" : ""}`,
      transform: `translate(${x} ${y})`,
      "data-corner": n,
      "aria-label": `Corner ${n + 1} of ${zone.name}, x ${Math.round(x)}, y ${Math.round(y)}`,
    });
    set(hit, { r: (COARSE.matches ? 22 : 12) * this.unit });
    set(ring, { r: 11 * this.unit, "stroke-width": 3 * this.unit });
    set(knob, { r: 6 * this.unit, "stroke-width": 2 * this.unit });
  }

  newMiddle() {
    return make("g", { class: "grip mid" }, make("circle", { class: "hit" }), make("circle", { class: "knob" }), make("path", { class: "plus" }));
  }

  setMiddle(group, { n, at: [x, y] }) {
    const [hit, knob, plus] = group.children;
    const u = this.unit;
    set(group, { transform: `translate(${x} ${y})`, "data-mid": n });
    set(hit, { r: (COARSE.matches ? 18 : 10) * u });
    set(knob, { r: 6.5 * u, "stroke-width": 1 * u });
    set(plus, { d: `M${-3.2 * u} 0H${3.2 * u}M0 ${-3.2 * u}V${3.2 * u}`, "stroke-width": 1.6 * u });
  }

  drawMarks() {
    const wrong = new Set(this.judged.mistakes.map((one) => this.state.drawing.marks[one.mark]?.post));
    sync(
      this.groups.marks,
      this.state.drawing.marks,
      (mark) => `mark-${mark.post}`,
      () =>
        make(
          "g",
          { tabindex: 0, role: "button" },
          make("circle", { class: "hit" }),
          make("circle", { class: "ring" }),
          make("path", { class: "cross-casing" }),
          make("path", { class: "cross" }),
          make("text"),
        ),
      (group, mark) => this.setMark(group, mark, wrong.has(mark.post)),
    );
  }

  setMark(group, mark, wrong) {
    const [hit, ring, casing, cross, text] = group.children;
    const [x, y] = mark.pixel;
    const u = this.unit;
    set(group, {
      class: `grip mark${this.choice.post === mark.post ? " chosen" : ""}${wrong ? " wrong" : ""}`,
      transform: `translate(${x} ${y})`,
      "data-post": mark.post,
      "aria-label": `Post ${mark.post}, x ${x.toFixed(1)}, y ${y.toFixed(1)}`,
    });
    const d = `M${-9 * u} 0H${-2.5 * u}M${2.5 * u} 0H${9 * u}M0 ${-9 * u}V${-2.5 * u}M0 ${2.5 * u}V${9 * u}`;
    set(hit, { r: (COARSE.matches ? 22 : 12) * u });
    set(ring, { r: 13 * u, "stroke-width": 3 * u });
    set(casing, { d, "stroke-width": 5 * u });
    set(cross, { d, "stroke-width": 2 * u });
    const right = x > this.viewport.box.x + this.viewport.box.w * 0.8;
    set(text, {
      x: (right ? -11 : 11) * u,
      y: (y < this.viewport.box.y + 22 * u ? 16 : -6) * u,
      "text-anchor": right ? "end" : "start",
      "font-size": 13 * u,
      "stroke-width": 3.5 * u,
    });
    if (text.textContent !== mark.post) text.textContent = mark.post;
  }

  // The zone that is being drawn, and the line to where the cross is.
  drawDraft() {
    const { draft, aim, mode } = this.choice;
    const shown = mode === "draw" && draft.length ? [...draft, ...(aim ? [aim] : [])] : [];
    const kinds = shown.length ? ["casing", "ghost"] : [];
    sync(
      this.groups.draft,
      [...kinds, ...(shown.length ? draft : [])],
      (_, n) => `draft-${n}`,
      (item) => (typeof item === "string" ? make("polyline", { class: item }) : make("circle", { class: "ghost" })),
      (element, item) => {
        if (typeof item === "string") {
          set(element, { points: points(shown), "stroke-width": (item === "casing" ? 5 : 2) * this.unit });
        } else set(element, { cx: item[0], cy: item[1], r: 5 * this.unit, "stroke-width": 2 * this.unit });
      },
    );
  }

  // Where one more stake would help most.
  drawAdvice() {
    const next = this.judged.plan?.next;
    const u = this.unit;
    sync(
      this.groups.advice,
      next ? ["stake-casing", "stake"] : [],
      (name) => name,
      (name) => make("circle", { class: name }),
      (circle, name) =>
        set(circle, {
          cx: next.pixel[0],
          cy: next.pixel[1],
          r: 13 * u,
          "stroke-width": (name === "stake" ? 2 : 5) * u,
          "stroke-dasharray": name === "stake" ? `${4 * u} ${4 * u}` : null,
        }),
    );
  }

  drawAim() {
    const { aim, mode } = this.choice;
    const u = this.unit;
    sync(
      this.groups.aim,
      aim && mode !== "look" ? ["aim-casing", "aim"] : [],
      (name) => name,
      (name) => make("path", { class: name }),
      (path, name) =>
        set(path, {
          d: `M${aim[0] - 16 * u} ${aim[1]}h${12 * u}m${8 * u} 0h${12 * u}M${aim[0]} ${aim[1] - 16 * u}v${12 * u}m0 ${8 * u}v${12 * u}`,
          "stroke-width": (name === "aim" ? 1.6 : 4) * u,
        }),
    );
  }
}
