// A chosen or taken picture, made small enough to keep: at most 2400 pixels long, JPEG. Painting it on a canvas also
// leaves behind whatever the camera wrote into the file, and turns it as it was held.

const LONG_SIDE = 2400;
const MOST_BYTES = 25 * 1024 * 1024;
const MOST_PIXELS = 50000000;
const QUALITY = 0.9;

// Its text says what to do.
export class PictureError extends Error {}

async function decoded(file) {
  try {
    return await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    const isHeic = /\.hei[cf]$/i.test(file.name) || /hei[cf]/.test(file.type);
    throw new PictureError(isHeic
      ? "HEIC pictures cannot be read here. Set the camera to JPEG (“most compatible”), or choose a JPEG picture."
      : "This file is not a picture that can be read. Choose a JPEG, PNG or WebP picture.");
  }
}

// {blob, width, height}
export async function readPicture(file) {
  if (file.size > MOST_BYTES) {
    throw new PictureError("The picture is larger than 25 MB. Choose a smaller one, or take it with a lower resolution.");
  }
  const bitmap = await decoded(file);
  try {
    if (bitmap.width * bitmap.height > MOST_PIXELS) {
      throw new PictureError("The picture has more than 50 megapixels. Choose a smaller one, or take it with a lower resolution.");
    }
    return await painted(bitmap);
  } finally {
    bitmap.close();
  }
}

async function painted(bitmap) {
  const share = Math.min(1, LONG_SIDE / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(bitmap.width * share));
  canvas.height = Math.max(1, Math.round(bitmap.height * share));
  const brush = canvas.getContext("2d");
  brush.fillStyle = "#fff";
  brush.fillRect(0, 0, canvas.width, canvas.height);
  brush.imageSmoothingQuality = "high";
  brush.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  if (!blob) {
    throw new PictureError("This tablet has no memory left for the picture. Close other pages and choose it again.");
  }
  return { blob, width: canvas.width, height: canvas.height };
}
