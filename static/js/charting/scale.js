// The scale of a photograph from two of its pixels and their distance: the same rules as planning/atlas/calibration.py,
// and compared with it by a test. Pixels from the picture's top left corner; tenths of a millimetre (`_dmm`).

export const SHORTEST_DMM = 50;
export const LONGEST_DMM = 4000;
const LARGEST_PICTURE_DMM = 20000;
// Where the chart's pupils are, planning/atlas/measurements.py; the mean of ANSUR II (women) for a guess.
export const PUPILS_DMM = 617;
const PUPILS_Y_DMM = 80;

export class Scale {
  constructor({ x1, y1, x2, y2, distance_dmm: distance }) {
    Object.assign(this, { x1, y1, x2, y2, distance });
  }

  get pixels() {
    return Math.hypot(this.x2 - this.x1, this.y2 - this.y1);
  }

  get pixelsPerMm() {
    return (this.pixels * 10) / this.distance;
  }

  toDmm(pixels) {
    return Math.sign(pixels) * Math.round((Math.abs(pixels) * this.distance) / this.pixels);
  }

  // What is wrong with it on a picture of this size; "" when nothing is.
  trouble(width, height) {
    const { x1, y1, x2, y2, distance } = this;
    if (x1 === x2 && y1 === y2) {
      return "Both points are at the same place. Move them apart.";
    }
    if (!(distance >= SHORTEST_DMM && distance <= LONGEST_DMM)) {
      return `Give a distance from ${SHORTEST_DMM / 10} to ${LONGEST_DMM / 10} mm.`;
    }
    if (this.toDmm(Math.max(width, height)) > LARGEST_PICTURE_DMM) {
      return "With these two points the picture would show more than 2 m. Put them farther apart, or check the distance.";
    }
    return "";
  }

  // Where a place of the photograph lies on the front chart, if both points are the pupils: a turn, a scale and a shift.
  chartPlace({ x_dmm: x, y_dmm: y }) {
    const { x1, y1, x2, y2 } = this;
    const isTurned = x1 > x2 || (x1 === x2 && y1 > y2);
    const [right, left] = isTurned ? [[x2, y2], [x1, y1]] : [[x1, y1], [x2, y2]];
    const perDmm = this.pixelsPerMm / 10;
    const from = [x * perDmm - (right[0] + left[0]) / 2, y * perDmm - (right[1] + left[1]) / 2];
    const along = [left[0] - right[0], left[1] - right[1]];
    const square = along[0] ** 2 + along[1] ** 2;
    return {
      x_dmm: Math.round((PUPILS_DMM * (from[0] * along[0] + from[1] * along[1])) / square),
      y_dmm: Math.round((PUPILS_DMM * (from[1] * along[0] - from[0] * along[1])) / square + PUPILS_Y_DMM),
    };
  }
}

// "8.3 pixels a millimetre"
export function scaleText(picture) {
  return `${new Scale(picture).pixelsPerMm.toFixed(1)} pixels a millimetre`;
}
