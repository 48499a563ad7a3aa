// The stream of a camera, or why there is none.

// The message says why and what to do.
export class CameraError extends Error {}

const REASONS = {
  NotAllowedError: "The browser may not use the camera: allow it for this address in its settings",
  NotFoundError: "No camera was found",
  NotReadableError: "Another program is using the camera: close it and try again",
};

// `wanted`: what getUserMedia takes; `otherwise`: what to do without a camera, as the end of a sentence.
export async function openStream(wanted, otherwise) {
  if (!window.isSecureContext || !navigator.mediaDevices?.getUserMedia) {
    throw new CameraError(`The camera works only at an address that begins with https: ${otherwise}`);
  }
  try {
    return await navigator.mediaDevices.getUserMedia(wanted);
  } catch (error) {
    const reason = REASONS[error.name] ?? "The camera could not be started";
    throw new CameraError(`${reason}${reason.includes(":") ? "," : ":"} ${otherwise}`);
  }
}
