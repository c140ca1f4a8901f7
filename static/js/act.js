/* Entry of the pages with an act's form. */

import { intercept } from "./forms.js";
import { phone } from "./phone.js";

if (phone) for (const form of document.querySelectorAll("form[data-act]")) intercept(form);
