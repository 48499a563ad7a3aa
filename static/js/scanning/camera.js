// The tablet's camera in a <video>, read picture by picture until a code is found. Every picture stays on the tablet.

import { openStream } from "../camera_stream.js";
import { TURNS, pictureOf } from "./picture.js";
import { readImage } from "./reader.js";

const WANTED = { video: { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } }, audio: false };
const LONGEST_WAIT_MS = 1000;
const OTHERWISE = "use a scanner, or type what is printed under the code.";

// Resolves with the next picture, or without one after a while: a video that is out of the page shows none.
function nextPicture(video) {
  return new Promise((resolve) => {
    setTimeout(resolve, LONGEST_WAIT_MS);
    if (video.requestVideoFrameCallback) {
      video.requestVideoFrameCallback(resolve);
    } else {
      requestAnimationFrame(resolve);
    }
  });
}

export class Camera {
  constructor(video) {
    this.video = video;
    this.canvas = document.createElement("canvas");
    this.stream = null;
    this.wanted = false;
  }

  // Shows the picture. Throws CameraError.
  async open() {
    this.wanted = true;
    const stream = await openStream(WANTED, OTHERWISE);
    if (!this.wanted) {
      // Closed again while the browser asked for permission.
      stream.getTracks().forEach((track) => track.stop());
      return;
    }
    this.stream = stream;
    this.video.srcObject = stream;
    await this.video.play().catch(() => {});
  }

  close() {
    this.wanted = false;
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = null;
    this.video.srcObject = null;
  }

  // {text, symbology} of the first code that two pictures show alike; null once the camera is closed or the video is
  // out of the page. `onSeveral` is called for each picture with more than one code. Each picture is turned another
  // way until one shows a code.
  async read(onSeveral) {
    let before = null;
    let turn = 0;
    while (this.stream) {
      await nextPicture(this.video);
      const { videoWidth, videoHeight } = this.video;
      if (!this.video.isConnected) {
        this.close();
      }
      if (!this.stream || !videoWidth) {
        continue;
      }
      const code = await readImage(pictureOf(this.video, videoWidth, videoHeight, TURNS[turn], this.canvas));
      if (code?.several) {
        onSeveral();
      } else if (code && code.text === before) {
        return { text: code.text, symbology: code.symbology };
      }
      turn = code ? turn : (turn + 1) % TURNS.length;
      before = code?.text || null;
    }
    return null;
  }
}
