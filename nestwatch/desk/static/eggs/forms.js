// Forms work without this. With it, what was typed stays on the page while the program in the terminal does not
// answer, and the page is not left for a refusal.

const STOPPED =
  "The program in the terminal does not answer; it was probably stopped. What was entered before is kept, and " +
  "what you typed is still here. Run the command again, and enter it on the new page.";

function show(page, address) {
  for (const id of ["main", "undo-place", "told", "said"]) {
    const [here, there] = [document.getElementById(id), page.getElementById(id)];
    if (!here || !there) return false;
    here.replaceWith(document.adoptNode(there));
  }
  document.title = page.title;
  if (address !== location.href) history.pushState(null, "", address);
  const told = document.getElementById("told");
  if (told.hidden) document.getElementById("said").focus();
  else (told.querySelector("button") || told).focus();
  window.scrollTo(0, 0);
  return true;
}

function tell(words) {
  document.getElementById("told-words").textContent = words;
  document.getElementById("told").hidden = false;
  document.getElementById("told").scrollIntoView();
}

async function send(form, button) {
  const body = new FormData(form, button);
  document.body.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(form.action, { method: "POST", body });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const shown = show(page, answer.redirected ? answer.url : location.href);
    if (!shown) tell(page.querySelector("main p")?.textContent ?? `The program answered ${answer.status}.`);
  } catch (error) {
    tell(STOPPED);
  } finally {
    document.body.removeAttribute("aria-busy");
  }
}

document.addEventListener("submit", (event) => {
  if (event.target.method !== "post" || document.body.hasAttribute("aria-busy")) {
    if (event.target.method === "post") event.preventDefault();
    return;
  }
  event.preventDefault();
  send(event.target, event.submitter);
});

window.addEventListener("popstate", () => location.reload());
