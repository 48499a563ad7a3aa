// The session's photographs that have a scale, as views of the face: millimetres from the top left corner.

// [{key: "picture", picture, label, sides, box, image}]; `image` gives the address to show, or a promise of it.
export function pictureViews(state, app) {
  return state.pictures
    .filter(({ removed, distance_dmm: distance }) => !removed && distance)
    .map(({ key, width, height, x1, y1, x2, y2, distance_dmm: distance }, index) => {
      const millimetres = distance / 10 / Math.hypot(x2 - x1, y2 - y1);
      return {
        key: "picture",
        picture: key,
        label: `Photo ${index + 1}`,
        sides: ["", ""],
        box: [0, 0, width * millimetres, height * millimetres],
        image: () => app.pictureUrl(key),
      };
    });
}
