// The patient's photographs of this session: taken or chosen, given a scale, shown as a view, taken out again.

import { button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { PictureError, readPicture } from "./picture_file.js";
import { attachPicturePlaces } from "./picture_places.js";
import { problem } from "./say.js";
import { scaleText } from "./scale.js";
import { openScale } from "./scale_sheet.js";
import { whereBadge } from "./points.js";

function isOn({ picture }, { key }) {
  return picture === key;
}

// Where a person said that a point is; pressed to say it anew.
function placeChip(screen, point) {
  const place = screen.placeName(point.region, point.side);
  return button({ class: "chip", "data-picture-place": point.key, disabled: !screen.isOpen, "aria-label": `Point ${point.number}: ${place}. Change` },
    node("span", { class: "point-no" }, point.number), ` ${place}`);
}

function card(screen, picture, number) {
  const { key, distance_dmm: distance } = picture;
  const points = screen.points.filter((point) => isOn(point, picture));
  // A removed point can come back, so it keeps the scale too.
  const isFixed = (screen.state.points ?? []).some((point) => isOn(point, picture));
  const name = `Photo ${number}`;
  const acts = [
    distance ? button({ "data-picture-show": key }, icon("face"), " Show") : null,
    screen.isOpen && !isFixed ? button({ class: distance ? "button" : "button button--primary", "data-picture-scale": key }, icon("pencil"), distance ? " Scale" : " Set the scale") : null,
    screen.isOpen ? button({ class: "button button--icon", "data-picture-drop": key, disabled: points.length > 0, title: points.length ? "Remove its points first" : null }, icon("trash", `Remove ${name.toLowerCase()}`)) : null,
  ];
  const told = distance ? `${scaleText(picture)}, from ${distance / 10} mm${picture.on_pupils ? " between the pupils; taken as not mirrored" : ""}` : "No scale yet: no point can be put on it.";
  return node(
    "li", { class: "picture", "data-key": key, "data-picture": key },
    node("img", { class: "picture__small", src: screen.app.pictureUrl(key), alt: "", width: picture.width, height: picture.height }),
    node("div", { class: "picture__text" },
      node("b", {}, name), node("span", { class: "points__sub" }, told),
      node("span", { class: "points__sub" }, `${points.length} ${points.length === 1 ? "point" : "points"} `, whereBadge(picture.where)),
      picture.message ? problem(picture.message) : null,
      node("div", { class: "picture__acts" }, acts)),
    points.length ? node("div", { class: "chips picture__places", role: "group", "aria-label": `Where the points of ${name.toLowerCase()} are` }, points.map((point) => placeChip(screen, point))) : null,
  );
}

export function attachPictures(screen, root) {
  const add = root.querySelector("[data-picture-add]");
  const list = root.querySelector("[data-picture-list]");
  const trouble = root.querySelector("[data-picture-trouble]");
  const changePlace = attachPicturePlaces(screen);

  const standing = () => (screen.state?.pictures ?? []).filter(({ removed }) => !removed);
  const found = (key) => standing().find((picture) => picture.key === key);

  function tell(text) {
    patch(trouble, problem(text));
    if (text) {
      screen.say(text);
    }
  }

  async function take(file) {
    const { sessionKey } = screen;
    tell("");
    root.setAttribute("aria-busy", "true");
    try {
      const { blob, width, height } = await readPicture(file);
      const key = screen.app.keepPicture(sessionKey, blob, { width, height });
      if (screen.sessionKey === sessionKey) {
        screen.say("The photograph is kept on this tablet.");
        openScale(screen, found(key));
      }
    } catch (error) {
      if (!(error instanceof PictureError)) {
        throw error;
      }
      tell(error.message);
    } finally {
      root.removeAttribute("aria-busy");
    }
  }

  root.addEventListener("change", ({ target }) => {
    const [file] = target.matches("[data-picture-file]") ? target.files : [];
    if (file) {
      take(file);
      target.value = "";
    }
  });
  on(root, "click", "data-picture-show", ({ dataset }) => screen.look("picture", dataset.pictureShow));
  on(root, "click", "data-picture-scale", ({ dataset }) => openScale(screen, found(dataset.pictureScale)));
  on(root, "click", "data-picture-place", ({ dataset }) => changePlace(dataset.picturePlace));
  on(root, "click", "data-picture-drop", ({ dataset }) => {
    if (screen.picture === dataset.pictureDrop) {
      screen.look("front");
    }
    screen.act("drop_picture", { key: dataset.pictureDrop });
    screen.say("Photograph removed.");
  });

  drawOnChange(screen, () => {
    if (screen.state) {
      add.hidden = !screen.isOpen;
      patch(list, standing().map((picture, index) => card(screen, picture, index + 1)));
      document.querySelector('[data-count="pictures"]').textContent = standing().length || "";
    }
  });
}
