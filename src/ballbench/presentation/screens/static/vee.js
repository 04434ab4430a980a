/** The vee: balls turned under an indicator. */

import { begin } from "./aid_entries.js";

begin({
  copied: ["product", "section"],
  needed: ["low", "high"],
  units: () => ({ unit: document.getElementById("unit").selectedOptions[0].textContent, degrees: "°" }),
});
