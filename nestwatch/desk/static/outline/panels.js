// The lists beside the picture: zones with name and kind, posts with how far they are off, and what is wrong.

import { make, set } from "./svg.js";

const KINDS = { nesting: "nesting: digs are looked for here", water: "water", ignore: "ignore: nothing here counts" };
const SHORT = { nesting: "nesting", water: "water", ignore: "ignore" };
const DASHES = { nesting: null, water: "12 4", ignore: "3 4" };

export class Panels {
  constructor(page) {
    this.page = page;
    this.zones = document.getElementById("zones");
    this.posts = document.getElementById("posts");
    this.how = document.getElementById("posts-how");
    this.wrongs = document.getElementById("wrongs");
    this.verdict = document.getElementById("verdict");
    this.built = "";
  }

  draw() {
    this.drawZones();
    this.drawPosts();
    this.drawVerdict();
  }

  // Rebuilt only when something in it changed, so that typing and focus are not disturbed.
  drawZones() {
    const { state, choice } = this.page;
    const { zones } = state.drawing;
    const shape = JSON.stringify([state.number, choice.zone, zones.length]);
    if (shape !== this.built) {
      this.built = shape;
      this.zones.replaceChildren(...zones.map((_, n) => this.zoneItem(n)), ...(zones.length ? [] : [nothing("No zone yet.")]));
    }
    zones.forEach((zone, n) => this.fillZone(this.zones.children[n], zone, n));
  }

  zoneItem(n) {
    const item = document.createElement("li");
    const button = Object.assign(document.createElement("button"), { type: "button", className: "item" });
    button.append(swatch(), document.createElement("span"), document.createElement("small"));
    button.addEventListener("click", () => this.page.chooseZone(this.page.choice.zone === n ? null : n));
    item.append(button);
    if (this.page.choice.zone === n) item.append(this.editor(n));
    return item;
  }

  fillZone(item, zone, n) {
    const [button, editor] = item.children;
    const [mark, name, kind] = button.children;
    button.setAttribute("aria-expanded", String(this.page.choice.zone === n));
    setText(name, zone.name || "(no name)");
    setText(kind, SHORT[zone.kind]);
    set(mark.firstChild, { class: zone.kind, "stroke-dasharray": DASHES[zone.kind] });
    if (!editor) return;
    const [, input, , select] = editor.children;
    if (document.activeElement !== input && input.value !== zone.name) input.value = zone.name;
    select.value = zone.kind;
  }

  editor(n) {
    const { edits } = this.page;
    const box = Object.assign(document.createElement("div"), { className: "edit" });
    const name = Object.assign(document.createElement("input"), { type: "text", id: "zone-name", maxLength: 60, autocomplete: "off" });
    name.addEventListener("input", () => edits.setZone(n, { name: name.value.trim() }, `name-${n}`));
    const kind = Object.assign(document.createElement("select"), { id: "zone-kind" });
    kind.append(...Object.entries(KINDS).map(([value, words]) => new Option(words, value)));
    kind.addEventListener("change", () => edits.setZone(n, { kind: kind.value }));
    const remove = Object.assign(document.createElement("button"), { type: "button", textContent: "Take the zone out" });
    remove.addEventListener("click", () => this.page.removeZone(n));
    box.append(label("Name", name), name, label("Kind", kind), kind, remove);
    return box;
  }

  drawPosts() {
    const { state, choice } = this.page;
    const pen = state.camera.pen;
    const names = pen ? pen.posts.map((post) => post.name) : [];
    setText(this.how, names.length ? "Choose a post, then click on its foot in the picture: where it meets the ground. Below each: how far it is off, on the ground and in the picture." : "The site file has no posts for this camera.");
    const shape = JSON.stringify([state.number, names]);
    if (shape !== this.builtPosts) {
      this.builtPosts = shape;
      this.posts.replaceChildren(...names.map((name) => this.postItem(name)));
    }
    const off = new Map((this.page.judged.plan?.marks || []).map((mark) => [mark.post, mark.words]));
    names.forEach((name, n) => this.fillPost(this.posts.children[n], name, off.get(name), choice));
  }

  postItem(name) {
    const item = document.createElement("li");
    const button = Object.assign(document.createElement("button"), { type: "button", className: "item" });
    const dot = Object.assign(document.createElement("span"), { className: "dot" });
    button.append(dot, document.createElement("span"), document.createElement("small"));
    button.addEventListener("click", () => this.page.pickPost(name));
    const off = Object.assign(document.createElement("button"), { type: "button", className: "off", textContent: "×" });
    off.setAttribute("aria-label", `Take the mark of ${name} out`);
    off.addEventListener("click", () => this.page.removeMark(name));
    item.append(button, off);
    return item;
  }

  fillPost(item, name, words, choice) {
    const [button, off] = item.children;
    const [dot, title, small] = button.children;
    const there = Boolean(this.page.edits.markOf(name));
    button.setAttribute("aria-pressed", String(choice.mode === "mark" && choice.post === name));
    dot.classList.toggle("there", there);
    setText(title, name);
    setText(small, there ? (words ? words : "marked") : "not marked");
    off.hidden = !there;
  }

  drawVerdict() {
    const { mistakes, hints, plan } = this.page.judged;
    const wrongs = [
      ...mistakes.map((one) => line("wrong", one.text)),
      ...this.page.doubts.map((text) => line("doubt", text)),
    ];
    const words = [
      ...hints.map((text) => line("hint", text)),
      ...(plan ? [line("fit", plan.fit)] : []),
      ...(plan?.next ? [line("advice", plan.next.words.replace("here", "where the dashed ring is"))] : []),
    ];
    fill(this.wrongs, wrongs);
    fill(this.verdict, words);
  }
}

function swatch() {
  const svg = make("svg", { class: "swatch", viewBox: "0 0 36 20", "aria-hidden": "true" });
  svg.append(make("line", { x1: 3, y1: 10, x2: 33, y2: 10 }));
  return svg;
}

function label(text, field) {
  return Object.assign(document.createElement("label"), { textContent: text, htmlFor: field.id });
}

function line(kind, text) {
  return Object.assign(document.createElement("p"), { className: kind, textContent: text });
}

function nothing(text) {
  return Object.assign(document.createElement("li"), { className: "faded", textContent: text });
}

// Left alone where the words are the same: a screen reader would say them again.
function fill(box, lines) {
  const words = (list) => [...list].map((one) => one.className + one.textContent).join("\n");
  if (words(box.children) !== words(lines)) box.replaceChildren(...lines);
}

function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}
