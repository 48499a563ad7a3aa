// The sheet in which a person sets the code on this tablet.

import { canUseCodes, enrol, weakness } from "./code.js";
import { toast } from "../charting/say.js";

const INSECURE = "A code needs a secure connection (https). Until then the tablet opens by password.";
const SIGNED = "A session signed with the present code is still waiting here. Set a new one when it is stored in the clinic.";

function say(form, text) {
  const line = form.querySelector("[data-code-problem]");
  line.textContent = text;
  line.hidden = !text;
}

function refusal(app, code, again) {
  if (!canUseCodes()) {
    return INSECURE;
  }
  if (app.waiting.some(({ op }) => op.kind === "sign")) {
    return SIGNED;
  }
  return weakness(code) || (code === again ? "" : "The two codes differ. Type the same one twice.");
}

async function set(app, form) {
  const { code, again, password } = form.elements;
  const why = refusal(app, code.value, again.value) || (await enrol(code.value, password.value));
  say(form, why);
  if (why) {
    return;
  }
  form.reset();
  form.closest("dialog").close();
  toast("Your code is set on this tablet.", { level: "success" });
}

function openCodeSheet() {
  const sheet = document.querySelector("#unlock-code");
  sheet.querySelector("form").reset();
  say(sheet, canUseCodes() ? "" : INSECURE);
  sheet.showModal();
}

export function attachCodeSheet(app) {
  const form = document.querySelector("[data-code-form]");
  let busy = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!busy) {
      busy = true;
      await set(app, form).finally(() => (busy = false));
    }
  });
  document.addEventListener("click", ({ target }) => target.closest("[data-unlock-code]") && openCodeSheet());
}
