// The drawing page: puts the parts together and says what goes on.

import { get, post } from "./api.js";
import { keepCopy } from "./copy.js";
import { Edits } from "./edits.js";
import { Keys } from "./keys.js";
import { Loupe } from "./loupe.js";
import { Panels } from "./panels.js";
import { drawPlan } from "./plan.js";
import { Pointer } from "./pointer.js";
import { Shapes } from "./shapes.js";
import { State } from "./state.js";
import { Time } from "./time.js";
import { Viewport } from "./viewport.js";

const JUDGE_MS = 200;
const DOUBT_MS = 700; // naming a doubtful mark takes the program seconds: only when the hand rests
const by = (id) => document.getElementById(id);
const nothingJudged = () => ({ mistakes: [], hints: [], plan: null });

class Page {
  constructor(site) {
    this.site = site;
    this.state = new State(site.cameras);
    this.choice = { mode: "look", zone: null, corner: null, post: null, draft: [], aim: null };
    this.judged = nothingJudged();
    this.edits = new Edits(this.state, this.choice);
    const picture = by("picture");
    this.viewport = new Viewport(picture, () => this.drawPicture());
    this.shapes = new Shapes(picture, this.viewport, this.state, this.choice);
    this.loupe = new Loupe(by("loupe"), this.shapes, this.viewport);
    this.panels = new Panels(this);
    this.time = new Time({
      timezone: site.timezone,
      onStill: (url, words) => this.showStill(url, words),
      onTrouble: (why) => this.noStill(why),
    });
    this.pointer = new Pointer(picture, this);
    this.keys = new Keys(picture, this);
    this.state.onChange(() => this.changed());
    this.wire();
    this.chooseCamera(0);
  }

  wire() {
    const on = (id, act) => by(id).addEventListener("click", act);
    by("camera").addEventListener("change", (event) => this.chooseCamera(Number(event.target.value)));
    on("undo", () => this.undo());
    on("redo", () => this.redo());
    on("save", () => this.save());
    on("draw", () => (this.choice.mode === "draw" ? this.cancel() : this.beginZone()));
    on("finish", () => this.finishZone());
    on("cancel", () => this.cancel());
    on("insert", () => (this.edits.insertCorner(this.choice.corner), this.focusGrip()));
    on("remove", () => this.removeCorner());
    on("larger", () => this.viewport.zoom(1.5, this.focusPlace()));
    on("smaller", () => this.viewport.zoom(1 / 1.5, this.focusPlace()));
    on("whole", () => this.viewport.whole());
    on("brighter", () => this.brighten());
    on("copy", () => keepCopy(this.state, this.site.file));
    on("told-copy", () => keepCopy(this.state, this.site.file));
    on("told-close", () => (by("told").hidden = true));
    addEventListener("beforeunload", (event) => this.state.isDirty && event.preventDefault());
  }

  chooseCamera(number) {
    this.reset();
    this.judged = nothingJudged();
    this.state.choose(number);
    this.viewport.show(...this.state.camera.picture);
    this.time.choose(number);
  }

  reset() {
    Object.assign(this.choice, { mode: "look", zone: null, corner: null, post: null, draft: [], aim: null });
    this.loupe.hide();
  }

  // After any change of what is drawn.
  changed() {
    const { zones } = this.state.drawing;
    if (!(this.choice.zone < zones.length)) this.choice.zone = null;
    if (!(this.choice.corner < zones[this.choice.zone]?.outline.length)) this.choice.corner = null;
    if (by("camera").value !== String(this.state.number)) {
      by("camera").value = String(this.state.number);
      this.viewport.show(...this.state.camera.picture);
      this.time.choose(this.state.number);
    }
    this.draw();
    clearTimeout(this.judging);
    clearTimeout(this.doubting);
    this.judging = setTimeout(() => this.judge(), JUDGE_MS);
    this.doubting = setTimeout(() => this.doubt(), DOUBT_MS);
  }

  async judge() {
    const { number } = this.state;
    const drawing = JSON.stringify(this.state.drawing);
    try {
      const judged = await post(`/api/camera/${number}/check`, this.state.drawing);
      if (number !== this.state.number || drawing !== JSON.stringify(this.state.drawing)) return;
      this.judged = judged;
      this.draw();
    } catch (error) {
      this.tell(error.message);
    }
  }

  async doubt() {
    const { number } = this.state;
    const marks = JSON.stringify(this.state.drawing.marks);
    if (marks === this.doubted?.marks && number === this.doubted.number) return;
    const words = await post(`/api/camera/${number}/doubts`, this.state.drawing).catch(() => []);
    if (number !== this.state.number || marks !== JSON.stringify(this.state.drawing.marks)) return;
    this.doubted = { number, marks, words };
    this.draw();
  }

  // Sentences on the marks as they are now.
  get doubts() {
    const now = this.doubted?.number === this.state.number && this.doubted.marks === JSON.stringify(this.state.drawing.marks);
    return now ? this.doubted.words : [];
  }

  draw() {
    if (!this.panels) return;
    this.panels.draw();
    drawPlan(by("plan"), by("key"), this.state.camera, this.state.drawing, this.judged);
    this.drawPicture();
  }

  // Alone while the pointer only hovers, zooms or pans.
  drawPicture() {
    if (!this.panels) return;
    this.shapes.judged = this.judged;
    this.shapes.draw();
    this.drawButtons();
  }

  drawButtons() {
    const { mode, corner, zone, draft } = this.choice;
    by("undo").disabled = !this.state.back.length;
    by("redo").disabled = !this.state.ahead.length;
    by("save").disabled = !this.state.isDirty;
    by("draw").setAttribute("aria-pressed", String(mode === "draw"));
    by("finish").hidden = mode !== "draw" || draft.length < 3;
    by("cancel").hidden = mode === "look";
    by("insert").hidden = by("remove").hidden = mode !== "look" || corner === null || zone === null;
    by("remove").disabled = !this.edits.canRemoveCorner();
    by("picture").classList.toggle("placing", mode !== "look");
    by("picture").setAttribute("aria-label", `Picture of camera ${this.state.camera.name}`);
    const words = this.guide();
    if (by("guide").textContent !== words) by("guide").textContent = words;
  }

  guide() {
    const { mode, post, draft, aim, zone, corner } = this.choice;
    const at = aim ? ` Cross at ${aim[0].toFixed(1)}, ${aim[1].toFixed(1)}.` : "";
    if (mode === "mark") return `Click where ${post} meets the ground. Zoom in for an exact click.${at}`;
    if (mode === "draw" && draft.length < 3) return `Click corner after corner round the edge (${draft.length} so far).${at}`;
    if (mode === "draw") return `Click on the first corner, or press F, to finish (${draft.length} corners).${at}`;
    if (corner !== null && zone !== null) {
      const [x, y] = this.edits.zone.outline[corner];
      return `Corner ${corner + 1} of ${this.edits.zone.name}: ${x.toFixed(1)}, ${y.toFixed(1)}. Drag it, or use the arrow keys.`;
    }
    if (zone !== null) return "Drag a corner to move it; drag a + to put a new corner there.";
    if (post && this.edits.markOf(post)) return `${post}: drag it, or use the arrow keys.`;
    return this.state.drawing.zones.length ? "Click a zone to change it, or draw another." : "Begin with the zone in which they dig.";
  }

  // Zones

  beginZone() {
    this.reset();
    this.choice.mode = "draw";
    by("picture").focus({ preventScroll: true });
    this.draw();
  }

  finishZone() {
    const { draft } = this.choice;
    if (draft.length < 3) return this.say("A zone needs three corners or more.");
    this.reset();
    this.edits.addZone(draft);
    this.draw();
    by("zone-name")?.select();
    by("zone-name")?.focus({ preventScroll: true });
    return this.say("Zone drawn. Give it a name and a kind.");
  }

  takeBack() {
    this.choice.draft.pop();
    this.draw();
  }

  chooseZone(n) {
    Object.assign(this.choice, { mode: "look", zone: n, corner: null, post: null, aim: null });
    this.draw();
  }

  chooseGrip({ corner, post }) {
    if (this.choice.mode !== "look") return;
    Object.assign(this.choice, { corner, post });
    this.draw();
  }

  focusGrip() {
    const { corner, post } = this.choice;
    const grip = [...by("picture").querySelectorAll(".grip")].find(
      ({ dataset }) => (corner !== null && dataset.corner === String(corner)) || (post !== null && dataset.post === post),
    );
    grip?.focus({ preventScroll: true });
  }

  removeCorner() {
    if (this.edits.removeCorner()) this.focusGrip();
    else this.say("A zone keeps three corners at least; take the whole zone out instead.");
  }

  removeZone(n) {
    const { name } = this.state.drawing.zones[n];
    this.edits.removeZone(n);
    by("draw").focus();
    this.say(`Zone ${name} taken out. Undo brings it back.`);
  }

  // Posts

  pickPost(post) {
    const again = this.choice.mode === "mark" && this.choice.post === post;
    this.reset();
    if (!again) {
      const mark = this.edits.markOf(post);
      Object.assign(this.choice, { mode: "mark", post, aim: mark ? [...mark.pixel] : null });
      by("picture").focus({ preventScroll: true });
      by("picture").scrollIntoView({ block: "nearest" });
    }
    this.draw();
  }

  removeMark(post) {
    this.choice.post = null;
    this.edits.removeMark(post);
    this.say(`Mark of ${post} taken out. Undo brings it back.`);
  }

  // The picture

  aimAt(at) {
    this.choice.aim = at;
    if (at) this.loupe.show(at);
    this.drawPicture();
  }

  put(at) {
    const { mode, post } = this.choice;
    if (mode === "draw") {
      this.choice.draft.push(at.map((value) => Math.round(value * 10) / 10));
      this.draw();
    } else if (mode === "mark") {
      this.reset();
      this.choice.post = post;
      this.edits.setMark(post, at);
      this.focusGrip();
      this.say(`${post} marked at ${at[0].toFixed(1)}, ${at[1].toFixed(1)}.`);
    }
  }

  cancel() {
    if (this.choice.mode === "look") this.chooseZone(null);
    else {
      this.reset();
      this.draw();
    }
  }

  focusPlace() {
    const { corner, post, aim } = this.choice;
    return aim || (corner !== null && this.edits.zone?.outline[corner]) || (post && this.edits.markOf(post)?.pixel) || undefined;
  }

  brighten() {
    const on = by("picture").classList.toggle("bright");
    by("loupe").classList.toggle("bright", on);
    by("brighter").setAttribute("aria-pressed", String(on));
  }

  showStill(url, words) {
    if (url) this.shapes.still.setAttribute("href", url);
    else this.shapes.still.removeAttribute("href");
    by("no-still").hidden = true;
    this.shapes.still.setAttribute("data-shown", words);
  }

  noStill(why) {
    by("no-still").textContent = why;
    by("no-still").hidden = false;
  }

  // Undo, saving, telling

  undo() {
    if (this.choice.mode === "draw" && this.choice.draft.length) this.takeBack();
    else if (this.state.undo()) this.say("Undone.");
  }

  redo() {
    if (this.state.redo()) this.say("Done again.");
  }

  async save() {
    if (!this.state.isDirty || this.saving) return;
    this.saving = true;
    try {
      const sent = JSON.stringify(this.state.drawings);
      const { seen, kept } = await post("/api/save", { seen: this.site.seen, drawings: this.state.changed() });
      this.site.seen = seen;
      if (sent === JSON.stringify(this.state.drawings)) this.state.markSaved();
      by("told").hidden = true;
      this.say(`Saved into ${this.site.file}; the former version is ${kept}.`);
    } catch (error) {
      this.tell(error.message);
    } finally {
      this.saving = false;
    }
  }

  say(words) {
    by("said").textContent = words;
  }

  tell(why) {
    by("told-words").textContent = why;
    by("told").hidden = false;
    by("told").scrollIntoView({ block: "nearest" });
  }
}

try {
  window.outlinePage = new Page(await get("/api/site"));
} catch (error) {
  by("told-words").textContent = error.message;
  by("told").hidden = false;
}
