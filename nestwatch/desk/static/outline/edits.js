// What can be done to a drawing: each is one change of the state, kept apart from how it is asked for.

import { tenth } from "./svg.js";

const FEWEST = 3;
const KIND_NAMES = { nesting: "nesting place", water: "water", ignore: "ignored" };

export class Edits {
  constructor(state, choice) {
    Object.assign(this, { state, choice });
  }

  get zone() {
    return this.state.drawing.zones[this.choice.zone];
  }

  addZone(outline) {
    const names = new Set(this.state.drawing.zones.map((zone) => zone.name.toLowerCase()));
    const kind = this.state.drawing.zones.some((zone) => zone.kind === "nesting") ? "ignore" : "nesting";
    const name = freeName(KIND_NAMES[kind], names);
    this.state.change(({ zones }) => zones.push({ name, kind, was: null, outline: outline.map(rounded) }));
    this.choice.zone = this.state.drawing.zones.length - 1;
    this.choice.corner = null;
  }

  removeZone(n) {
    this.choice.zone = this.choice.corner = null;
    this.state.change(({ zones }) => zones.splice(n, 1));
  }

  setZone(n, values, join = null) {
    this.state.change(({ zones }) => Object.assign(zones[n], values), join);
  }

  moveCorner(n, at, join) {
    const zone = this.choice.zone;
    this.state.change(({ zones }) => zones[zone].outline.splice(n, 1, rounded(at)), join);
  }

  // A corner on the edge after corner `n`, in its middle or at a place.
  insertCorner(n, at = null, join = null) {
    const { outline } = this.zone;
    const [[x, y], [nx, ny]] = [outline[n], outline[(n + 1) % outline.length]];
    const zone = this.choice.zone;
    this.choice.corner = n + 1;
    this.state.change(({ zones }) => zones[zone].outline.splice(n + 1, 0, rounded(at || [(x + nx) / 2, (y + ny) / 2])), join);
  }

  canRemoveCorner() {
    return this.zone && this.choice.corner !== null && this.zone.outline.length > FEWEST;
  }

  removeCorner() {
    if (!this.canRemoveCorner()) return false;
    const { zone, corner } = this.choice;
    this.choice.corner = Math.min(corner, this.zone.outline.length - 2);
    this.state.change(({ zones }) => zones[zone].outline.splice(corner, 1));
    return true;
  }

  setMark(post, at, join = null) {
    this.state.change(({ marks }) => {
      const mark = marks.find((one) => one.post === post);
      if (mark) mark.pixel = rounded(at);
      else marks.push({ post, pixel: rounded(at) });
    }, join);
  }

  markOf(post) {
    return this.state.drawing.marks.find((mark) => mark.post === post);
  }

  removeMark(post) {
    this.state.change((drawing) => {
      drawing.marks = drawing.marks.filter((mark) => mark.post !== post);
    });
  }
}

function freeName(wish, taken) {
  for (let n = 1; ; n += 1) {
    const name = n === 1 ? wish : `${wish} ${n}`;
    if (!taken.has(name)) return name;
  }
}

const rounded = ([x, y]) => [tenth(x), tenth(y)];
