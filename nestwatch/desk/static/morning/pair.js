// The code that lets a phone in.

const form = document.getElementById("pair");

// A browser may keep back the cookie when another program (a code reader) opened the address: it is let in then.
fetch(form.dataset.next, { redirect: "manual" }).then((answer) => answer.ok && location.replace(form.dataset.next), () => {});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const why = document.getElementById("why");
  try {
    const headers = { "Content-Type": "application/json" };
    const body = JSON.stringify({ code: document.getElementById("code").value });
    const answer = await fetch("/api/pair", { method: "POST", headers, body });
    if (answer.ok) location.assign(form.dataset.next);
    else why.textContent = (await answer.json()).why;
  } catch (error) {
    why.textContent = "The computer does not answer; look whether the desk is still running there.";
  }
});
