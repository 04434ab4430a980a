/** The way to the page Share stands on the machine that runs ballbench alone: no other device may make links. */

const OWN = new Set(["127.0.0.1", "localhost", "[::1]"]);

for (const link of document.querySelectorAll(".share-link")) link.hidden = !OWN.has(window.location.hostname);
