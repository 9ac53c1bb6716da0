// Small helpers for SVG: making elements, and keeping a group's children in step with a list.

const SPACE = "http://www.w3.org/2000/svg";

export function make(name, attributes = {}, ...children) {
  const element = document.createElementNS(SPACE, name);
  set(element, attributes);
  element.append(...children);
  return element;
}

export function set(element, attributes) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) element.removeAttribute(key);
    else if (element.getAttribute(key) !== String(value)) element.setAttribute(key, value);
  }
  return element;
}

// One child for each item, found again by its key, so that focus and dragging outlive a redraw.
export function sync(group, items, keyOf, create, update) {
  const left = new Map([...group.children].map((child) => [child.dataset.key, child]));
  items.forEach((item, n) => {
    const key = String(keyOf(item, n));
    let child = left.get(key);
    if (child) left.delete(key);
    else {
      child = create(item, n);
      child.dataset.key = key;
    }
    update(child, item, n);
    if (group.children[n] !== child) {
      const focused = child.contains(document.activeElement) ? document.activeElement : null;
      group.insertBefore(child, group.children[n] || null);
      focused?.focus({ preventScroll: true });
    }
  });
  for (const child of left.values()) child.remove();
}

export const points = (outline) => outline.map(([x, y]) => `${x},${y}`).join(" ");
export const clamp = (value, low, high) => Math.min(high, Math.max(low, value));
export const tenth = (value) => Math.round(value * 10) / 10;
