// All findings computed again, one after the other, each shown as soon as it is known.

import { announce, ask, say } from "./letters.js";

const button = document.querySelector("[data-recheck-all]");
const status = document.querySelector("[data-recheck-status]");
const rows = [...document.querySelectorAll("[data-recheck]")];

async function recheckAll() {
  button.disabled = true;
  const count = {};
  for (const [k, row] of rows.entries()) {
    say(status, `Computing ${k + 1} of ${rows.length} …`);
    try {
      const told = await ask(row.dataset.recheck);
      count[told.words] = (count[told.words] ?? 0) + 1;
      show(row, told);
    } catch (fault) {
      say(status, fault.message, "bad");
      button.disabled = false;
      return;
    }
  }
  const sentence = `Done: ${Object.entries(count).map(([words, many]) => `${many} ${words}`).join(", ")}.`;
  say(status, sentence, "good");
  announce(sentence);
  button.disabled = false;
}

function show(row, told) {
  const place = row.querySelector("[data-verdict]");
  place.hidden = false;
  place.className = `verdict-line ${told.verdict}`;
  place.textContent = [`${told.words[0].toUpperCase()}${told.words.slice(1)}.`, ...told.sentences].join(" ");
}

if (button) {
  button.hidden = false;
  button.addEventListener("click", recheckAll);
}
