// A magnified round cut-out of the still around the pointer, in the corner away from it.

import { make, set } from "./svg.js";

const TIMES = 4;

export class Loupe {
  constructor(svg, shapes, viewport) {
    Object.assign(this, { svg, shapes, viewport });
    this.still = make("image", { preserveAspectRatio: "none" });
    this.casing = make("path", { class: "aim-casing" });
    this.cross = make("path", { class: "aim" });
    svg.append(this.still, this.casing, this.cross);
  }

  show([x, y]) {
    const half = (this.svg.clientWidth / 2 / TIMES) * this.viewport.unit;
    const [width, height] = this.viewport.size;
    set(this.svg, { viewBox: `${x - half} ${y - half} ${2 * half} ${2 * half}` });
    set(this.still, { x: 0, y: 0, width, height, href: this.shapes.still.getAttribute("href") });
    const d = `M${x - half} ${y}h${half * 0.85}m${half * 0.3} 0h${half * 0.85}M${x} ${y - half}v${half * 0.85}m0 ${half * 0.3}v${half * 0.85}`;
    set(this.casing, { d, "stroke-width": half / 22 });
    set(this.cross, { d, "stroke-width": half / 60 });
    const box = this.viewport.box;
    const left = x < box.x + box.w / 2 && y < box.y + box.h * 0.75;
    this.svg.classList.toggle("right", left);
    this.svg.classList.add("on");
  }

  hide() {
    this.svg.classList.remove("on");
  }
}
