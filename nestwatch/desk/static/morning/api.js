// Asking the program in the terminal. A failure becomes an Error with one clear line; `doubtful` and `changed`
// tell what can be done about it.

const STOPPED =
  "The program in the terminal does not answer; it was probably stopped. What was entered before is kept. " +
  "Run the command again and open the new address.";
const token = document.querySelector('meta[name="write-token"]').content;

async function ask(path, options) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "same-origin", ...options });
  } catch (error) {
    throw new Error(STOPPED);
  }
  if (answer.ok) return answer;
  const told = await answer.json().catch(() => ({}));
  const error = new Error(told.why || `The program answered ${answer.status}; load the page again.`);
  throw Object.assign(error, { doubtful: Boolean(told.doubtful), changed: Boolean(told.changed) });
}

export async function getPage(path) {
  const text = await (await ask(path, {})).text();
  return new DOMParser().parseFromString(text, "text/html");
}

export async function get(path) {
  return (await ask(path, {})).json();
}

export async function getPicture(path) {
  return URL.createObjectURL(await (await ask(path, {})).blob());
}

export async function post(path, body) {
  const headers = { "Content-Type": "application/json", "X-Nestwatch-Token": token };
  return (await ask(path, { method: "POST", headers, body: JSON.stringify(body) })).json();
}
