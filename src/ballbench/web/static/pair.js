// Hand the token of the link over once, and take it out of the address before anything else happens.
const token = location.hash.slice(1);
history.replaceState(null, "", location.pathname);
const said = document.getElementById("said");
const again = document.getElementById("again");

async function pair() {
  const answer = await fetch("/api/pair", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ token }),
  });
  if (answer.ok) {
    location.replace("/");
    return;
  }
  const [fault] = (await answer.json()).faults;
  said.textContent = answer.status === 403
    ? "This link does not work any more: a link is good once, and for ten minutes."
    : `There were ${fault.found}. What to do: ${fault.todo}.`;
  again.hidden = false;
}

if (token) {
  said.textContent = "Pairing this device.";
  pair().catch(() => {
    said.textContent = "The bench did not answer. Check that this device is on the same network, and scan again.";
    again.hidden = false;
  });
} else {
  again.hidden = false;
}
