// The code that lets a phone in.

const form = document.getElementById("pair");

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const why = document.getElementById("why");
  try {
    const headers = { "Content-Type": "application/json" };
    const body = JSON.stringify({ code: document.getElementById("code").value });
    const answer = await fetch("/api/pair", { method: "POST", headers, body });
    if (answer.ok) location.assign("/");
    else why.textContent = (await answer.json()).why;
  } catch (error) {
    why.textContent = "The computer does not answer; look whether the desk is still running there.";
  }
});
