// Make links for devices, show them as a picture to scan, and list and unpair the devices that came in.
const form = document.getElementById("new-link");
const name = document.getElementById("device-name");
const made = document.getElementById("made");
const picture = document.getElementById("picture");
const link = document.getElementById("link");
const whose = document.getElementById("whose");
const said = document.getElementById("said");
const list = document.getElementById("devices");
const none = document.getElementById("no-devices");
const LOOK_AGAIN_MS = 3000;

async function ask(path, body) {
  const answer = await fetch(path, body === undefined ? {} : {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  });
  const content = await answer.json();
  if (!answer.ok) {
    throw new Error(content.faults.map((fault) => `${fault.found}: ${fault.todo}.`).join(" "));
  }
  return content;
}

function act(work) {
  work().catch((error) => {
    said.textContent = `That did not work. ${error.message}`;
  });
}

function lineOf(device) {
  const line = document.createElement("li");
  const text = document.createElement("span");
  const time = new Date(device.paired).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  text.textContent = `${device.name}, paired at ${time} from ${device.address} `;
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = `Unpair ${device.name}`;
  button.addEventListener("click", () => act(async () => {
    show((await ask("/api/share/unpaired", { device: device.id })).devices);
    said.textContent = `${device.name} is shut out.`;
  }));
  line.append(text, button);
  return line;
}

let shown = "[]";

function show(devices) {
  const now = JSON.stringify(devices);
  if (now === shown) {
    return;
  }
  const before = new Set(JSON.parse(shown).map((device) => device.id));
  const fresh = devices.filter((device) => !before.has(device.id));
  if (fresh.length && !made.hidden) {
    made.hidden = true;
    name.value = "";
    said.textContent = `${fresh[0].name} is paired.`;
  }
  shown = now;
  list.replaceChildren(...devices.map(lineOf));
  none.hidden = devices.length > 0;
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  act(async () => {
    const given = await ask("/api/share/links", { name: name.value });
    const drawn = new DOMParser().parseFromString(given.svg, "image/svg+xml").documentElement;
    picture.replaceChildren(document.importNode(drawn, true));
    link.textContent = given.link;
    whose.textContent = name.value || "one device";
    made.hidden = false;
    said.textContent = "A link is made. Scan the picture with the device.";
  });
});

async function look() {
  if (document.visibilityState === "visible") {
    show((await ask("/api/share")).devices);
  }
}

setInterval(() => act(look), LOOK_AGAIN_MS);
act(look);
