// One picture out of a video or an image, as the reader takes it.

// Longer sides are made smaller: a code fills more of the picture than of the box it stands on.
const LONGEST_SIDE = 1920;
// Striped codes are read along lines across and down; turned like this, one of the pictures has them level.
export const TURNS = [0, 45, 15, 60, 30, 75];

// ImageData of `source`, turned by so many degrees. `canvas` is used again from picture to picture.
export function pictureOf(source, width, height, turn, canvas) {
  const scale = Math.min(1, LONGEST_SIDE / Math.max(width, height));
  const angle = (turn * Math.PI) / 180;
  const [sine, cosine] = [Math.abs(Math.sin(angle)), Math.abs(Math.cos(angle))];
  canvas.width = Math.round((width * cosine + height * sine) * scale);
  canvas.height = Math.round((width * sine + height * cosine) * scale);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.fillStyle = "white";
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.translate(canvas.width / 2, canvas.height / 2);
  context.rotate(angle);
  context.drawImage(source, (-width * scale) / 2, (-height * scale) / 2, width * scale, height * scale);
  return context.getImageData(0, 0, canvas.width, canvas.height);
}
