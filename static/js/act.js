/* Entry of the pages with an act's form. */

import { intercept } from "./forms.js";
import { phone } from "./phone.js";
import { gather } from "./pictures.js";

if (phone) {
  for (const form of document.querySelectorAll("form[data-act]")) {
    if (form.dataset.act === "photo" && !form.dataset.corrects && !location.hash.includes("mend")) gather(form);
    intercept(form);
  }
}
