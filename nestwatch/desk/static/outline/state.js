// What is drawn: zones and marks of every camera, with undo and redo. Knows nothing of the page.

const MOST_STEPS = 200;

const copyOf = (value) => structuredClone(value);
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

export class State {
  // cameras: the list that /api/site gives.
  constructor(cameras) {
    this.cameras = cameras;
    this.drawings = cameras.map((camera) => copyOf({ zones: camera.zones, marks: camera.marks }));
    this.saved = copyOf(this.drawings);
    this.number = 0;
    this.back = [];
    this.ahead = [];
    this.joined = null;
    this.listeners = [];
  }

  get camera() {
    return this.cameras[this.number];
  }

  get drawing() {
    return this.drawings[this.number];
  }

  get isDirty() {
    return !same(this.drawings, this.saved);
  }

  onChange(listener) {
    this.listeners.push(listener);
  }

  choose(number) {
    this.number = number;
    this.joined = null;
    this.tell();
  }

  // Changes with the same `join` one after another are one step of undo (a drag, a run of arrow keys).
  change(alter, join = null) {
    const before = copyOf(this.drawings);
    alter(this.drawing);
    if (same(before, this.drawings)) return;
    if (join === null || join !== this.joined) {
      this.back.push({ drawings: before, number: this.number });
      if (this.back.length > MOST_STEPS) this.back.shift();
    }
    this.joined = join;
    this.ahead = [];
    this.tell();
  }

  endJoin() {
    this.joined = null;
  }

  undo() {
    return this.step(this.back, this.ahead);
  }

  redo() {
    return this.step(this.ahead, this.back);
  }

  step(from, to) {
    const taken = from.pop();
    if (!taken) return false;
    to.push({ drawings: copyOf(this.drawings), number: taken.number });
    this.drawings = taken.drawings;
    this.number = taken.number;
    this.joined = null;
    this.tell();
    return true;
  }

  // Only the cameras that changed go into the file.
  changed() {
    const pairs = this.cameras.map((camera, n) => [camera.name, this.drawings[n], this.saved[n]]);
    return Object.fromEntries(pairs.filter(([, now, before]) => !same(now, before)).map(([name, now]) => [name, now]));
  }

  // After saving: names in the file are those on the page, in every step of undo as well.
  markSaved() {
    for (const drawing of this.drawings) for (const zone of drawing.zones) zone.was = zone.name;
    const names = this.drawings.map((drawing) => new Set(drawing.zones.map((zone) => zone.name)));
    for (const { drawings } of [...this.back, ...this.ahead]) {
      drawings.forEach((drawing, n) => {
        for (const zone of drawing.zones) zone.was = names[n].has(zone.name) ? zone.name : null;
      });
    }
    this.saved = copyOf(this.drawings);
    this.joined = null;
    this.tell();
  }

  tell() {
    for (const listener of this.listeners) listener();
  }
}
