// Reads one code from a picture. The reader itself is a module of its own (static/zxing); this says what to look for.

import { prepareZXingModule, readBarcodes } from "../../zxing/reader/index.js";

// What stands on a pack, the codes that can hold product, lot and expiry first.
const FORMATS = ["DataMatrix", "QRCode", "Code128", "DataBar", "ITF14", "EAN13", "EAN8"];
const WITH_ENTRIES = ["]d2", "]C1", "]Q3", "]e0"];

let started = null;

// Loads the reader from `address`, once, or again where that failed.
export function startReader(address) {
  started ??= prepareZXingModule({ overrides: { locateFile: () => address }, fireImmediately: true }).catch((error) => {
    started = null;
    throw error;
  });
  return started;
}

// Codes with entries before plain ones, and plain ones before bare product numbers.
function rank({ symbologyIdentifier }) {
  if (WITH_ENTRIES.includes(symbologyIdentifier)) {
    return 0;
  }
  return /^\][EI]/.test(symbologyIdentifier) ? 2 : 1;
}

// {text, symbology, several} of the best code in an ImageData, or null if there is none. `text` is what a scanner would
// send, the three characters for the kind of code included. `several`: more than one of the best kind, none is chosen.
export async function readImage(image) {
  const found = (await readBarcodes(image, { formats: FORMATS, textMode: "Plain" })).filter((code) => code.isValid);
  if (!found.length) {
    return null;
  }
  const best = Math.min(...found.map(rank));
  const codes = new Map(
    found.filter((code) => rank(code) === best).map((code) => [`${code.symbologyIdentifier}${code.text}`, code]),
  );
  const [[text, { symbology }]] = codes;
  return codes.size > 1 ? { text: "", symbology, several: true } : { text, symbology, several: false };
}
