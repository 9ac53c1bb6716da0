// The clutch: eggs by state, female, times.

import { post } from "./api.js";
import { sayThere, tell, trying } from "./told.js";

const form = document.getElementById("clutch");
const STATES = ["whole", "dented", "cracked", "broken"];
const field = (name) => form.elements[name];

// A whole number, null where nothing is written, NaN where it is no number.
function count(state) {
  const text = field(state).value.trim();
  if (text === "") return null;
  return /^-?\d{1,9}$/.test(text) ? Number(text) : NaN;
}

function showTotal() {
  const counts = STATES.map(count).filter((each) => each !== null);
  const total = counts.reduce((sum, each) => sum + each, 0);
  const words = !counts.length ? "not counted" : Number.isNaN(total) ? "a number is wrong" : `${total} egg${total === 1 ? "" : "s"}`;
  document.getElementById("total").textContent = words;
}

function entered(sure) {
  const counts = Object.fromEntries(STATES.map((state) => [state, count(state)]));
  const texts = ["female", "new_female", "laid", "lifted", "note"].map((name) => [name, field(name).value]);
  return { ...counts, ...Object.fromEntries(texts), seen: Number(form.dataset.seen), sure };
}

async function enter(sure) {
  if (STATES.some((state) => Number.isNaN(count(state)))) {
    tell("A number of eggs is no whole number; correct it.");
    return;
  }
  const told = await trying(
    () => post(`/api/dig/${form.dataset.dig}/clutch`, entered(sure)),
    () => enter(true),
  );
  if (told) {
    sayThere(told.said);
    location.assign(`/?after=${told.dig}`);
  }
}

form.addEventListener("input", showTotal);
form.addEventListener("click", (event) => {
  const button = event.target.closest("[data-step]");
  if (!button) return;
  const state = button.dataset.for;
  field(state).value = Math.max(0, (count(state) || 0) + Number(button.dataset.step));
  showTotal();
});
form.addEventListener("submit", (event) => {
  event.preventDefault();
  enter(false);
});
document.getElementById("lifted-now").addEventListener("click", (event) => {
  field("lifted").value = event.currentTarget.dataset.now;
});
showTotal();
