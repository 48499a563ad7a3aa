// The panel "how it is given": what the next point takes with it, or the settings of the chosen point.

const NAMES = ["unit", "amount", "plane", "technique", "instrument", "gauge", "length_mm", "aspiration"];
const NEEDED = { amount: "amount", plane: "plane", technique: "technique", instrument: "instrument", aspiration: "aspiration" };

// Scrolls the row of cards only: the page stays where it is.
function showWithin(card) {
  const row = card?.parentElement;
  if (card && (card.offsetLeft < row.scrollLeft || card.offsetLeft + card.offsetWidth > row.scrollLeft + row.clientWidth)) {
    row.scrollLeft = card.offsetLeft - card.parentElement.firstElementChild.offsetLeft;
  }
}

export class Settings {
  constructor(form) {
    this.form = form;
    this.kept = null;
    form.addEventListener("click", (event) => {
      const step = event.target.closest("[data-step]");
      if (step) {
        this.form.elements.amount.value = step.dataset.step;
        this.form.elements.amount.dispatchEvent(new Event("change", { bubbles: true }));
      }
    });
    form.addEventListener("input", () => this.markStep());
    form.addEventListener("change", () => this.markStep());
  }

  // "mL" or "units", by the unit on the tray.
  unitWord(unit) {
    const radio = document.querySelector(`[data-unit][value="${unit}"]`);
    return radio?.dataset.measure === "dose" ? "units" : "mL";
  }

  // What is being typed counts as typed: the browser says "change" only when the field is left.
  finishTyping() {
    if (this.form.contains(document.activeElement)) {
      document.activeElement.blur();
    }
  }

  read() {
    return Object.fromEntries(NAMES.map((name) => [name, this.form.elements[name].value]));
  }

  write(values) {
    for (const name of NAMES) {
      if (name in values) {
        this.setValue(this.form.elements[name], values[name]);
      }
    }
    this.showUnit();
  }

  // A size that is not offered, such as one typed elsewhere, is added rather than lost.
  setValue(field, value) {
    if (field.tagName === "SELECT" && value && ![...field.options].some((option) => option.value === value)) {
      field.add(new Option(value, value));
    }
    field.value = value;
  }

  // The names of what is still missing, and the first field to fill.
  missing() {
    const names = Object.keys(NEEDED).filter((name) => !this.form.elements[name].value.trim());
    return { names: names.map((name) => NEEDED[name]), field: names.length ? this.form.elements[names[0]] : null };
  }

  chooseUnit(radio) {
    const before = document.querySelector(`[data-unit][value="${this.form.elements.unit.value}"]`);
    const alike = before && before.dataset.kind === radio.dataset.kind;
    this.form.elements.unit.value = radio.value;
    if (radio.dataset.lastAmount || !alike) {
      this.form.elements.amount.value = radio.dataset.lastAmount;
    }
    this.showUnit();
  }

  // Which card is drawn from, in which measure; a unit that left the tray leaves the panel too.
  showUnit() {
    const radios = [...document.querySelectorAll("input[data-unit]")];
    const unit = this.form.elements.unit;
    const chosen = radios.find((radio) => radio.value === unit.value) ?? (radios.length === 1 ? radios[0] : null);
    unit.value = chosen?.value ?? "";
    for (const radio of radios) {
      radio.checked = radio === chosen;
    }
    showWithin(chosen?.closest("[data-unit-card]"));
    const measure = chosen?.dataset.measure ?? "volume";
    this.form.querySelector("[data-amount-unit]").textContent = this.unitWord(unit.value);
    for (const steps of this.form.querySelectorAll("[data-steps]")) {
      steps.hidden = steps.dataset.steps !== measure;
    }
    this.markStep();
  }

  markStep() {
    for (const step of this.form.querySelectorAll("[data-step]")) {
      step.setAttribute("aria-pressed", String(step.dataset.step === this.form.elements.amount.value.trim()));
    }
  }

  // Show the settings of a point; those of the next point come back with `leave`.
  enter(values, number) {
    this.kept ??= this.read();
    this.write(values);
    this.form.classList.add("how--point");
    this.form.querySelector("[data-how-number]").textContent = number;
    this.turn(true);
  }

  leave() {
    if (this.kept) {
      this.write(this.kept);
      this.kept = null;
    }
    this.form.classList.remove("how--point");
    this.turn(false);
  }

  turn(toPoint) {
    this.form.querySelector("[data-how-next]").hidden = toPoint;
    this.form.querySelector("[data-how-point]").hidden = !toPoint;
    this.form.querySelector("[data-how-acts]").hidden = !toPoint;
    this.form.querySelector("[data-by-region]").hidden = toPoint;
    this.form.querySelector("[data-how-place]").hidden = !toPoint;
    this.form.querySelector("[data-add-by-region]").hidden = toPoint;
  }
}
