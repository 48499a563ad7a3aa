// The session's photographs that have a scale, as views of the face: millimetres from the top left corner.

// Which side is the patient's own is said as region and side are suggested (scale.js): from both pupils, of a head that is
// upright, in a photograph that is not mirrored.
function sidesOf({ on_pupils: isOnPupils, x1, y1, x2, y2 }, { reference }) {
  const isUpright = Math.abs(x2 - x1) > Math.abs(y2 - y1);
  return isOnPupils && isUpright ? reference.views.find(({ key }) => key === "front").sides : ["", ""];
}

// [{key: "picture", picture, label, sides, box, image}]; `image` gives the address to show, or a promise of it.
export function pictureViews(state, app) {
  return state.pictures
    .filter(({ removed, distance_dmm: distance }) => !removed && distance)
    .map((picture, index) => {
      const { key, width, height, x1, y1, x2, y2, distance_dmm: distance } = picture;
      const millimetres = distance / 10 / Math.hypot(x2 - x1, y2 - y1);
      return {
        key: "picture",
        picture: key,
        label: `Photo ${index + 1}`,
        sides: sidesOf(picture, app),
        box: [0, 0, width * millimetres, height * millimetres],
        image: () => app.pictureUrl(key),
      };
    });
}
