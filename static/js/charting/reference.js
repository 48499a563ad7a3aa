// The words, regions and drawings of the chart: the same for everyone, kept on the tablet under the address they came
// from.

import { ask } from "./sync.js";

export async function keptReference(tablet, url) {
  const kept = await tablet.read("reference").catch(() => null);
  if (kept && (!url || kept.url === url)) {
    return kept.value;
  }
  try {
    const value = await ask(url);
    await tablet.write("reference", { url, value }).catch(() => null);
    return value;
  } catch {
    return kept?.value ?? null;
  }
}
