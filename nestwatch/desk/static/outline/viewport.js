// Which part of the picture is shown: zoom and pan by the SVG's viewBox. Places are picture pixels.

import { clamp, set } from "./svg.js";

const CLOSEST_PX = 24; // picture pixels across the view at the highest zoom

export class Viewport {
  constructor(svg, onMove) {
    this.svg = svg;
    this.onMove = onMove;
    this.size = [1, 1];
    this.box = { x: 0, y: 0, w: 1, h: 1 };
    new ResizeObserver(() => this.onMove()).observe(svg);
  }

  show(width, height) {
    this.size = [width, height];
    this.svg.style.aspectRatio = `${width} / ${height}`;
    this.whole();
  }

  whole() {
    this.box = { x: 0, y: 0, w: this.size[0], h: this.size[1] };
    this.apply();
  }

  get isWhole() {
    return this.box.w >= this.size[0] - 1e-6;
  }

  // Picture pixels that one pixel of the screen spans.
  get unit() {
    const matrix = this.svg.getScreenCTM();
    return matrix ? 1 / matrix.a : 1;
  }

  at(event) {
    const matrix = this.svg.getScreenCTM();
    if (!matrix) return [0, 0];
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    return [point.x, point.y];
  }

  inside([x, y]) {
    return [clamp(x, 0, this.size[0]), clamp(y, 0, this.size[1])];
  }

  zoom(factor, [x, y] = this.middle) {
    const w = clamp(this.box.w / factor, Math.min(CLOSEST_PX, this.size[0]), this.size[0]);
    const share = w / this.box.w;
    this.box = { x: x - (x - this.box.x) * share, y: y - (y - this.box.y) * share, w, h: this.box.h * share };
    this.apply();
  }

  pan(dx, dy) {
    this.box.x += dx;
    this.box.y += dy;
    this.apply();
  }

  // Bring a place into view, a little away from the edge.
  reveal([x, y]) {
    const { x: left, y: top, w, h } = this.box;
    const [mx, my] = [w * 0.08, h * 0.08];
    this.box.x = this.isWhole ? left : clamp(left, x - w + mx, x - mx);
    this.box.y = this.isWhole ? top : clamp(top, y - h + my, y - my);
    this.apply();
  }

  get middle() {
    return [this.box.x + this.box.w / 2, this.box.y + this.box.h / 2];
  }

  apply() {
    const { w, h } = this.box;
    this.box.x = clamp(this.box.x, 0, this.size[0] - w);
    this.box.y = clamp(this.box.y, 0, this.size[1] - h);
    set(this.svg, { viewBox: `${this.box.x} ${this.box.y} ${w} ${h}` });
    this.svg.classList.toggle("zoomed", !this.isWhole);
    this.onMove();
  }
}
