// The keyboard: everything the mouse can do. Arrow keys move what is chosen, on the picture the cross.

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const FAR = 10;
const RUN_MS = 1500; // arrow keys closer together than this are one step of undo

export class Keys {
  constructor(svg, page) {
    Object.assign(this, { svg, page });
    this.last = { key: "", at: 0, run: 0 };
    svg.addEventListener("keydown", (event) => this.onPicture(event));
    svg.addEventListener("focusin", (event) => this.onFocus(event));
    document.addEventListener("keydown", (event) => this.anywhere(event));
  }

  onFocus(event) {
    const { corner, post } = event.target.dataset;
    if (corner !== undefined) this.page.chooseGrip({ corner: Number(corner), post: null });
    else if (post !== undefined) this.page.chooseGrip({ corner: null, post });
  }

  onPicture(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const done = ARROWS[event.key] ? this.arrow(event) : this.other(event);
    if (done) event.preventDefault();
  }

  arrow(event) {
    const { page } = this;
    const far = event.shiftKey ? FAR : 1;
    const [dx, dy] = ARROWS[event.key].map((step) => step * far);
    const { corner, post } = event.target.dataset;
    if (page.choice.mode === "look" && corner !== undefined) this.nudgeCorner(Number(corner), dx, dy);
    else if (page.choice.mode === "look" && post !== undefined) this.nudgeMark(post, dx, dy);
    else if (page.choice.mode !== "look") this.moveAim(dx, dy);
    else page.viewport.pan((dx * page.viewport.box.w) / 40, (dy * page.viewport.box.h) / 40);
    return true;
  }

  nudgeCorner(n, dx, dy) {
    const { edits, viewport } = this.page;
    const [x, y] = edits.zone.outline[n];
    const at = viewport.inside([x + dx, y + dy]);
    edits.moveCorner(n, at, this.run(`corner-${this.page.choice.zone}-${n}`));
    viewport.reveal(at);
  }

  nudgeMark(post, dx, dy) {
    const { edits, viewport } = this.page;
    const [x, y] = edits.markOf(post).pixel;
    const at = viewport.inside([x + dx, y + dy]);
    edits.setMark(post, at, this.run(`mark-${post}`));
    viewport.reveal(at);
  }

  run(key) {
    const now = performance.now();
    if (key !== this.last.key || now - this.last.at > RUN_MS) this.last.run += 1;
    this.last = { key, at: now, run: this.last.run };
    return `keys-${this.last.run}`;
  }

  moveAim(dx, dy) {
    const { viewport, choice } = this.page;
    const [x, y] = choice.aim || viewport.middle.map(Math.round);
    const at = viewport.inside([x + dx, y + dy]);
    viewport.reveal(at);
    this.page.aimAt(at);
  }

  other(event) {
    const { page } = this;
    const { choice, edits } = page;
    switch (event.key) {
      case "Enter":
      case " ":
        return this.enter();
      case "f":
      case "F":
        return choice.mode === "draw" && (page.finishZone(), true);
      case "Insert":
        return event.target.dataset.corner !== undefined && (edits.insertCorner(choice.corner), page.focusGrip(), true);
      case "Delete":
      case "Backspace":
        return this.remove(event);
      default:
        return false;
    }
  }

  enter() {
    const { page } = this;
    if (page.choice.mode === "look") return false;
    page.put(page.choice.aim || page.viewport.middle);
    return true;
  }

  remove(event) {
    const { page } = this;
    const { corner, post } = event.target.dataset;
    if (page.choice.mode === "draw") page.takeBack();
    else if (corner !== undefined) page.removeCorner();
    else if (post !== undefined) page.removeMark(post);
    else return false;
    return true;
  }

  anywhere(event) {
    const { page } = this;
    const key = event.key.toLowerCase();
    const inText = event.target.matches?.('input[type="text"], select');
    if (event.ctrlKey || event.metaKey) {
      if (key === "s") page.save();
      else if (inText) return;
      else if (key === "z" && !event.shiftKey) page.undo();
      else if (key === "y" || (key === "z" && event.shiftKey)) page.redo();
      else return;
    } else if (key === "escape") page.cancel();
    else if (inText || event.altKey || event.target.matches?.('input[type="range"]')) return;
    else if (key === "+" || key === "=") page.viewport.zoom(1.5, page.focusPlace());
    else if (key === "-") page.viewport.zoom(1 / 1.5, page.focusPlace());
    else if (key === "0") page.viewport.whole();
    else return;
    event.preventDefault();
  }
}
