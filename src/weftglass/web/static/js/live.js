// The answer that stands beside the photograph and follows every change.

import { announce, ask } from "./letters.js";

export class Live {
  constructor(place, address) {
    this.place = place; this.address = address; this.asking = null;
    place.addEventListener("click", (event) => {
      const link = event.target.closest("a[data-candidate]");
      if (!link) return;
      event.preventDefault();
      this.refresh(new URL(link.href).search);
    });
  }

  /** Ask again; an older question still on its way is dropped. */
  async refresh(search = "") {
    this.asking?.abort();
    this.asking = new AbortController();
    this.place.setAttribute("aria-busy", "true");
    try {
      const told = await ask(this.address + search, undefined, this.asking.signal);
      const focused = document.activeElement?.id;
      this.place.innerHTML = told.html;
      this.place.removeAttribute("aria-busy");
      if (focused && this.place.querySelector(`#${CSS.escape(focused)}`)) document.getElementById(focused).focus();
      announce(told.sentence);
    } catch (fault) {
      if (fault.name === "AbortError") return;
      this.place.removeAttribute("aria-busy");
      this.place.replaceChildren(Object.assign(document.createElement("p"), { className: "note stop", textContent: fault.message }));
    }
  }
}
