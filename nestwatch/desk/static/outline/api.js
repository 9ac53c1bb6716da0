// Asking the program in the terminal. Every failure becomes an Error whose message is one clear line.

const STOPPED =
  "The program in the terminal does not answer; it was probably stopped. What you drew is still on this page: " +
  "keep a copy of it as text, run the command again and load the copy's lines into the site file.";

const token = document.querySelector('meta[name="write-token"]').content;

async function ask(path, options = {}) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "same-origin", ...options });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Error(STOPPED);
  }
  if (answer.ok) return answer;
  const told = await answer.json().catch(() => ({}));
  throw new Error(told.why || `The program answered ${answer.status}; load the page again.`);
}

export async function get(path, signal) {
  return (await ask(path, { signal })).json();
}

export async function getPicture(path, signal) {
  return URL.createObjectURL(await (await ask(path, { signal })).blob());
}

export async function post(path, body, signal) {
  const headers = { "Content-Type": "application/json", "X-Nestwatch-Token": token };
  return (await ask(path, { method: "POST", headers, body: JSON.stringify(body), signal })).json();
}
