// What the page tells: a quiet line for what was done, a loud box for what was not.

const element = (id) => document.getElementById(id);
let repeat = null;

export function say(words, link) {
  element("said").replaceChildren(words);
  if (link) {
    const made = Object.assign(document.createElement("a"), { href: link.href, textContent: link.words });
    element("said").append(" ", made);
  }
}

const LATER = "nestwatch-said";

// Said on the page that is opened next.
export function sayThere(words) {
  sessionStorage.setItem(LATER, words);
}

// `again`: repeats what was refused as unlikely, now as sure.
export function tell(words, { again = null, changed = false } = {}) {
  repeat = again;
  element("told-words").textContent = words;
  element("told-sure").hidden = !again;
  element("told-now").hidden = !changed;
  element("told").hidden = false;
  element("told").querySelector("button:not([hidden])").focus();
}

export function hush() {
  element("told").hidden = true;
}

// Do something that may fail; what failed is told. `again` as for `tell`, offered where it was only unlikely.
export async function trying(work, again = null) {
  hush();
  try {
    return await work();
  } catch (error) {
    tell(error.message, { again: error.doubtful ? again : null, changed: error.changed });
    return null;
  }
}

element("told-now").addEventListener("click", () => location.reload());
element("told-close").addEventListener("click", hush);
element("told-sure").addEventListener("click", () => repeat && repeat());

const late = sessionStorage.getItem(LATER);
if (late) say(late);
sessionStorage.removeItem(LATER);
