// Giving a photograph its scale: two of its points, and how far apart they are.

import { button, icon, node, on, patch } from "./dom.js";
import { askAmount } from "./keypad.js";
import { problem } from "./say.js";
import { LONGEST_DMM, PUPILS_DMM, SHORTEST_DMM, Scale } from "./scale.js";
import { ScaleStage } from "./scale_stage.js";
import { openSheet, sheetNamed } from "./sheet.js";

const ARROWS = [["-1,0", "←", "To the left"], ["0,-1", "↑", "Up"], ["0,1", "↓", "Down"], ["1,0", "→", "To the right"]];
const HOW = {
  pupils: "Put both points on the middle of the pupils, seen from straight in front. Region and side are then suggested for each point, with the patient’s right at the left of the picture. A selfie may be mirrored: use a ruler then, and say each side yourself.",
  ruler: "Put both points on two marks of a ruler held beside the face, at the depth of the skin.",
};
const BETTER = "A ruler in the picture is better than the pupil distance. A pupil distance that was guessed may be 5 % off, and every millimetre on the picture with it.";

// Where the pupils of a face that fills the picture are about; a person moves them.
function firstPlaces({ width, height }) {
  return [{ x: Math.round(width * 0.4), y: Math.round(height * 0.42) }, { x: Math.round(width * 0.6), y: Math.round(height * 0.42) }];
}

class ScaleSheet {
  constructor(screen) {
    this.screen = screen;
    this.sheet = sheetNamed("scale");
    this.panel = node("div", { class: "scale__panel" });
    on(this.sheet, "click", "data-scale-by", ({ dataset }) => this.choose(dataset.scaleBy));
    on(this.sheet, "click", "data-scale-distance", () => this.askDistance());
    on(this.sheet, "click", "data-scale-guess", () => this.set({ distance: PUPILS_DMM }));
    on(this.sheet, "click", "data-scale-point", ({ dataset }) => this.stage.choose(Number(dataset.scalePoint)));
    on(this.sheet, "click", "data-scale-nudge", ({ dataset }) => this.stage.nudge(...dataset.scaleNudge.split(",").map(Number)));
    on(this.sheet, "click", "data-scale-done", () => this.done());
    this.sheet.addEventListener("close", () => this.stage?.close());
  }

  open(picture) {
    const { screen } = this;
    const isKnown = Boolean(picture.distance_dmm);
    this.picture = picture;
    this.by = isKnown && !picture.on_pupils ? "ruler" : "pupils";
    this.distance = picture.distance_dmm ?? screen.state.measures?.pupil_dmm ?? null;
    this.trouble = "";
    const places = isKnown ? [{ x: picture.x1, y: picture.y1 }, { x: picture.x2, y: picture.y2 }] : firstPlaces(picture);
    this.stage = new ScaleStage({ picture, href: screen.app.pictureUrl(picture.key), places, onChange: () => this.set({}) });
    // The stage draws on its own nodes: none of the last opening may stay in their place.
    this.sheet.replaceChildren();
    openSheet(this.sheet, {
      title: "Scale of the photograph",
      body: node("div", { class: "scale" }, this.stage.root, this.panel),
      foot: [button({ "data-dialog-close": true }, "Later"), button({ class: "button button--primary", "data-scale-done": true }, icon("check"), " Set the scale")],
    });
    this.draw();
  }

  get scale() {
    const [one, other] = this.stage.places;
    return new Scale({ x1: one.x, y1: one.y, x2: other.x, y2: other.y, distance_dmm: this.distance });
  }

  set(values) {
    Object.assign(this, { trouble: "" }, values);
    this.draw();
  }

  // The patient's own pupil distance comes with the pupils; a ruler's is read from the ruler.
  choose(by) {
    const own = this.screen.state.measures?.pupil_dmm ?? null;
    this.set({ by, distance: by === "pupils" ? own : null });
  }

  askDistance() {
    askAmount({
      title: "Distance of the two points", help: "In millimetres.", measure: "length", amount: this.distance,
      act: (dmm) => {
        if (dmm < SHORTEST_DMM || dmm > LONGEST_DMM) {
          return `Give a distance from ${SHORTEST_DMM / 10} to ${LONGEST_DMM / 10} mm.`;
        }
        this.set({ distance: dmm });
        return "";
      },
    });
  }

  draw() {
    const { by, distance, stage } = this;
    const ways = [["pupils", "Both pupils"], ["ruler", "A ruler or marker"]].map(([key, label]) => button(
      { class: "chip", "data-scale-by": key, "aria-pressed": String(by === key) }, label,
    ));
    const points = ["First", "Second"].map((label, index) => button(
      { class: "chip", "data-scale-point": index, "aria-pressed": String(stage.chosen === index) }, label,
    ));
    const own = this.screen.state.measures?.pupil_dmm ?? null;
    const source = by === "pupils" && distance ? (distance === own ? "As measured on this patient." : distance === PUPILS_DMM ? "An average (ANSUR II, women): ±5 %." : "") : "";
    patch(
      this.panel,
      node("div", { class: "chips", role: "group", "aria-label": "What the two points are" }, ways),
      node("p", { class: "small" }, HOW[by]),
      node("div", { class: "scale__row" },
        node("span", { class: "field__label" }, "Distance"),
        button({ class: "button scale__distance", "data-scale-distance": true, "aria-haspopup": "dialog" }, distance ? `${distance / 10} mm` : "Type it …"),
        by === "pupils" && !distance ? button({ "data-scale-guess": true }, `Average, ${PUPILS_DMM / 10} mm`) : null),
      source ? node("p", { class: "quiet small" }, source) : null,
      node("div", { class: "scale__row" },
        node("span", { class: "field__label" }, "Move"),
        node("div", { class: "chips", role: "group", "aria-label": "Which point is moved" }, points),
        node("div", { class: "scale__arrows", role: "group", "aria-label": "Move by one pixel" },
          ARROWS.map(([nudge, sign, label]) => button({ class: "button button--icon", "data-scale-nudge": nudge, "aria-label": label }, sign)))),
      node("p", { "data-scale-text": true }, this.told()),
      problem(this.trouble),
      node("p", { class: "quiet small" }, BETTER),
    );
  }

  told() {
    const { width, height } = this.picture;
    if (!this.distance || this.scale.trouble(width, height)) {
      return "";
    }
    const millimetres = (pixels) => Math.round(this.scale.toDmm(pixels) / 10);
    return `${this.scale.pixelsPerMm.toFixed(2)} pixels a millimetre: the picture shows ${millimetres(width)} × ${millimetres(height)} mm.`;
  }

  done() {
    const { picture, scale, distance, screen } = this;
    const trouble = distance ? scale.trouble(picture.width, picture.height) : "Type the distance of the two points first.";
    if (trouble) {
      this.set({ trouble });
      return;
    }
    const { x1, y1, x2, y2 } = scale;
    screen.act("calibrate", { key: picture.key, x1, y1, x2, y2, distance_dmm: distance, on_pupils: this.by === "pupils" });
    this.sheet.close();
    screen.look("picture", picture.key);
    screen.say("The photograph has its scale and is one more view. A touch on it logs a point.");
  }
}

let sheet = null;

export function openScale(screen, picture) {
  sheet ??= new ScaleSheet(screen);
  sheet.screen = screen;
  sheet.open(picture);
}
