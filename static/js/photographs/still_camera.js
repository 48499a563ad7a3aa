// The camera for photographs: what the stage shows, three by four and upright, is what is taken.

import { openStream } from "../camera_stream.js";

const WANTED = { video: { facingMode: "environment", width: { ideal: 3840 }, height: { ideal: 2160 } }, audio: false };
const OTHERWISE = "use the device’s camera, or upload files.";
const QUALITY = 0.95;

export class StillCamera {
  constructor(video) {
    this.video = video;
    this.stream = null;
  }

  get isOpen() {
    return this.stream !== null;
  }

  // Throws CameraError.
  async open() {
    this.stream = await openStream(WANTED, OTHERWISE);
    this.video.srcObject = this.stream;
    await this.video.play().catch(() => {});
  }

  close() {
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = null;
    this.video.srcObject = null;
  }

  // A JPEG of the middle of the picture; null as long as the camera shows none.
  async take() {
    const { videoWidth, videoHeight } = this.video;
    if (!videoWidth) {
      return null;
    }
    const width = Math.min(videoWidth, Math.floor((videoHeight * 3) / 4));
    const height = Math.min(videoHeight, Math.floor((width * 4) / 3));
    const canvas = document.createElement("canvas");
    Object.assign(canvas, { width, height });
    const left = (videoWidth - width) / 2;
    const top = (videoHeight - height) / 2;
    canvas.getContext("2d").drawImage(this.video, left, top, width, height, 0, 0, width, height);
    return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  }
}
