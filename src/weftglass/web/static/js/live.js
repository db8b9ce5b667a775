// The answer that stands beside the photograph and follows every change.

import { announce, ask } from "./letters.js";

/** Kept once the pointer is up and the click it makes has been heard. */
const released = () => new Promise((done) => {
  const up = () => {
    for (const name of ["pointerup", "pointercancel"]) removeEventListener(name, up);
    setTimeout(done, 0);
  };
  for (const name of ["pointerup", "pointercancel"]) addEventListener(name, up);
});

export class Live {
  constructor(place, address) {
    this.place = place; this.address = address; this.asking = null;
    this.held = Promise.resolve();
    place.addEventListener("pointerdown", () => { this.held = released(); });
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
    const asking = this.asking = new AbortController();
    this.place.setAttribute("aria-busy", "true");
    try {
      const told = await ask(this.address + search, undefined, asking.signal);
      await this.held; // what is being pressed stays under the finger until it is let go
      if (asking.signal.aborted) return;
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
