// Mouse, finger and pen on the picture. One finger or button draws and drags; two fingers zoom and pan.

const NEAR_PX = 14; // screen pixels: so near to the first corner a click closes the zone
const SAME_PX = 5;
const FAINT_PX = 6; // so much nearer than a corner must the middle of an edge be
const STILL_PX = 4; // less than this is a click and no drag

export class Pointer {
  constructor(svg, page) {
    Object.assign(this, { svg, page });
    this.down = new Map();
    this.action = null;
    this.count = 0;
    svg.addEventListener("pointerdown", (event) => this.press(event));
    svg.addEventListener("pointermove", (event) => this.move(event));
    svg.addEventListener("pointerup", (event) => this.release(event));
    svg.addEventListener("pointercancel", (event) => this.drop(event));
    svg.addEventListener("pointerleave", () => this.leave());
    // Browsers do not heed touch-action on shapes inside an SVG: without this a drag would scroll the page.
    svg.addEventListener("touchstart", (event) => event.target.closest(".grip") && event.preventDefault(), { passive: false });
    svg.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
  }

  wheel(event) {
    event.preventDefault();
    const { viewport } = this.page;
    viewport.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.002)), viewport.at(event));
  }

  press(event) {
    if (event.button > 1) return;
    this.down.set(event.pointerId, [event.clientX, event.clientY]);
    this.svg.setPointerCapture(event.pointerId);
    if (this.down.size === 2) {
      this.page.loupe.hide();
      this.action = { what: "pinch" };
      return;
    }
    if (this.down.size > 2) return;
    this.count += 1;
    this.begin(event);
  }

  begin(event) {
    const at = this.page.viewport.inside(this.page.viewport.at(event));
    const { choice } = this.page;
    if (event.button === 1) this.action = { what: "pan" };
    else if (choice.mode !== "look") this.place(event, at);
    else this.grasp(event, at);
  }

  place(event, at) {
    event.preventDefault();
    this.svg.focus({ preventScroll: true });
    this.action = { what: "place" };
    this.page.aimAt(at);
  }

  grasp(event, at) {
    const grip = event.target.closest(".grip") && this.nearest(at);
    const zone = event.target.closest(".zone");
    if (grip) this.grab(event, grip, at);
    else this.action = { what: "pan", from: [event.clientX, event.clientY], zone: zone ? Number(zone.dataset.zone) : null };
  }

  // Under a finger lie several: the nearest is meant, not the one drawn last.
  nearest([x, y]) {
    const { shapes, edits, state } = this.page;
    const { zone } = edits;
    const all = [
      ...(zone ? shapes.corners(zone).map(({ n, at }) => [`[data-corner="${n}"]`, at, 0]) : []),
      ...(zone ? shapes.middles(zone).map(({ n, at }) => [`[data-mid="${n}"]`, at, FAINT_PX]) : []),
      ...state.drawing.marks.map(({ post, pixel }) => [`[data-post="${CSS.escape(post)}"]`, pixel, 0]),
    ];
    const far = ([, [px, py], handicap]) => Math.hypot(px - x, py - y) / this.page.viewport.unit + handicap;
    const [selector] = all.reduce((best, one) => (far(one) < far(best) ? one : best));
    return this.svg.querySelector(selector);
  }

  grab(event, grip, at) {
    event.preventDefault();
    const { edits, choice, state } = this.page;
    const join = `drag-${this.count}`;
    if (grip.dataset.mid !== undefined) {
      edits.insertCorner(Number(grip.dataset.mid), null, join);
      grip = this.svg.querySelector(`[data-corner="${choice.corner}"]`);
    }
    const post = grip.dataset.post;
    const corner = post === undefined ? Number(grip.dataset.corner) : null;
    const start = post === undefined ? state.drawing.zones[choice.zone].outline[corner] : edits.markOf(post).pixel;
    this.page.chooseGrip({ corner, post: post ?? null });
    grip.focus({ preventScroll: true });
    this.action = { what: "drag", join, post, corner, shift: [start[0] - at[0], start[1] - at[1]], from: [event.clientX, event.clientY], moved: false };
  }

  move(event) {
    const { viewport, choice } = this.page;
    if (!this.down.has(event.pointerId)) {
      if (choice.mode !== "look" && event.pointerType !== "touch") this.page.aimAt(viewport.inside(viewport.at(event)));
      return;
    }
    const before = this.down.get(event.pointerId);
    const now = [event.clientX, event.clientY];
    const pair = [...this.down.values()];
    this.down.set(event.pointerId, now);
    const { what } = this.action || {};
    if (what === "pinch") this.pinch(pair, [...this.down.values()]);
    else if (what === "place") this.page.aimAt(viewport.inside(viewport.at(event)));
    else if (what === "drag") this.drag(event, now);
    else if (what === "pan" && !viewport.isWhole) viewport.pan((before[0] - now[0]) * viewport.unit, (before[1] - now[1]) * viewport.unit);
  }

  drag(event, now) {
    const { action } = this;
    const { viewport, edits } = this.page;
    action.moved ||= Math.hypot(now[0] - action.from[0], now[1] - action.from[1]) > STILL_PX;
    if (!action.moved) return;
    const [x, y] = viewport.at(event);
    const at = viewport.inside([x + action.shift[0], y + action.shift[1]]);
    this.page.loupe.show(at);
    if (action.post !== undefined) edits.setMark(action.post, at, action.join);
    else edits.moveCorner(action.corner, at, action.join);
  }

  pinch([a, b], [c, d]) {
    const { viewport } = this.page;
    if (!a || !b || !c || !d) return;
    const middle = ([x, y], [p, q]) => [(x + p) / 2, (y + q) / 2];
    const far = ([x, y], [p, q]) => Math.hypot(x - p, y - q);
    const [before, now] = [middle(a, b), middle(c, d)];
    viewport.pan((before[0] - now[0]) * viewport.unit, (before[1] - now[1]) * viewport.unit);
    viewport.zoom(far(c, d) / Math.max(far(a, b), 1), viewport.at({ clientX: now[0], clientY: now[1] }));
  }

  release(event) {
    const { action } = this;
    if (!this.down.delete(event.pointerId)) return;
    if (action?.what === "pinch") {
      if (!this.down.size) this.action = null;
      return;
    }
    this.action = null;
    this.page.state.endJoin();
    if (action?.what === "place") this.placed(event);
    else if (action?.what === "pan" && action.from && Math.hypot(event.clientX - action.from[0], event.clientY - action.from[1]) <= STILL_PX) {
      this.page.chooseZone(action.zone);
    }
    if (event.pointerType === "touch" || action?.what === "drag") this.page.loupe.hide();
  }

  placed(event) {
    const { viewport, choice } = this.page;
    const at = viewport.inside(viewport.at(event));
    if (choice.mode === "draw" && this.closes(at)) this.page.finishZone();
    else this.page.put(at);
    if (event.pointerType === "touch") this.page.aimAt(null);
  }

  // A click on the first corner, or a second one on the last (a double click).
  closes([x, y]) {
    const { draft } = this.page.choice;
    const unit = this.page.viewport.unit;
    const far = ([px, py]) => Math.hypot(x - px, y - py) / unit;
    return draft.length >= 3 && (far(draft[0]) < NEAR_PX || far(draft.at(-1)) < SAME_PX);
  }

  drop(event) {
    this.down.delete(event.pointerId);
    this.action = null;
    this.page.state.endJoin();
    this.page.loupe.hide();
  }

  leave() {
    if (this.down.size) return;
    this.page.loupe.hide();
  }
}
