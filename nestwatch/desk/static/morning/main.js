// The morning: one key or tap for what was found, and the next dig comes up by itself.

import { getPage, post } from "./api.js";
import { hush, say, tell, trying } from "./told.js";

const NAMES = { 1: "eggs", 2: "empty", 3: "not-yet", 4: "set-aside" };
let busy = false;

const dig = () => document.querySelector("#dig[data-dig]");
const choice = (found) => document.querySelector(`[data-found="${found}"]`);

async function once(work) {
  if (busy) return;
  busy = true;
  document.body.setAttribute("aria-busy", "true");
  await work();
  busy = false;
  document.body.removeAttribute("aria-busy");
}

// Show the page anew, as the record is now, without losing what was said.
async function show(query, { focus = true } = {}) {
  const address = location.pathname + query;
  const page = await getPage(address);
  document.getElementById("main").replaceChildren(...page.getElementById("main").childNodes);
  document.getElementById("undo-place").replaceChildren(...page.getElementById("undo-place").childNodes);
  history.replaceState(null, "", address);
  const title = document.getElementById("dig-title");
  if (focus && title) {
    title.focus({ preventScroll: true });
    document.querySelector(".now").scrollIntoView();
  }
}

async function enter(found, why) {
  const { dig: number, seen } = dig().dataset;
  try {
    const told = await post(`/api/dig/${number}/find`, { found, why, seen: Number(seen) });
    await show(`?after=${number}`);
    say(told.said, found === "eggs" ? { href: `/clutch/${number}`, words: "Count the eggs" } : null);
  } catch (error) {
    if (!error.changed) throw error;
    await show(`?dig=${number}`);
    tell(error.message);
  }
}

function answer(found, why = null) {
  if (!dig()) return;
  if (found === "set-aside" && why === null) {
    openAside(true);
    return;
  }
  once(() => trying(() => enter(found, why)));
}

function openAside(open) {
  const form = document.getElementById("aside");
  form.hidden = !open;
  choice("set-aside").setAttribute("aria-expanded", String(open));
  if (open) form.querySelector("button").focus();
  else choice("set-aside").focus();
}

function takeBack(button) {
  once(() =>
    trying(async () => {
      const told = await post("/api/undo", { entry: Number(button.dataset.undo) });
      await show(location.search.replace(/after=/, "dig="));
      say(told.said);
    }),
  );
}

function step(by) {
  const rows = [...document.querySelectorAll("[data-show]")];
  if (!rows.length) return;
  const at = rows.findIndex((row) => row.getAttribute("aria-current"));
  const next = rows[(at + by + rows.length) % rows.length];
  once(() => trying(() => show(`?dig=${next.dataset.show}`)));
}

function setAside(why) {
  if (why.trim()) answer("set-aside", why.trim());
  else tell("Say why it is set aside: choose a reason or write one.");
}

document.addEventListener("click", (event) => {
  const target = event.target.closest("button, a");
  if (!target) return;
  const { found, reason, undo, show: number, cancel } = target.dataset;
  if (found) answer(found);
  else if (reason) answer("set-aside", reason);
  else if (undo) takeBack(target);
  else if (cancel !== undefined) openAside(false);
  else if (number && !event.ctrlKey && !event.metaKey && !event.shiftKey) {
    event.preventDefault();
    once(() => trying(() => show(`?dig=${number}`)));
  }
});

document.addEventListener("submit", (event) => {
  if (event.target.id !== "aside") return;
  event.preventDefault();
  setAside(document.getElementById("why").value);
});

// Single keys can be switched off (WCAG 2.1.4), for people who speak to their computer.
const KEPT = "nestwatch-single-keys";
const box = document.getElementById("keys");
if (box) {
  box.checked = localStorage.getItem(KEPT) !== "off";
  box.addEventListener("change", () => localStorage.setItem(KEPT, box.checked ? "on" : "off"));
}

function isTyping(target) {
  return target.closest("input, select, textarea, video") !== null && target.type !== "checkbox";
}

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    hush();
    const form = document.getElementById("aside");
    if (form && !form.hidden) openAside(false);
  }
  if (!box || !box.checked || isTyping(event.target)) return;
  if (event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
  const key = event.key.toLowerCase();
  if (NAMES[key] && dig()) answer(NAMES[key]);
  else if (key === "u" && document.getElementById("undo")) takeBack(document.getElementById("undo"));
  else if (key === "n" || key === "p") step(key === "n" ? 1 : -1);
  else return;
  event.preventDefault();
});
