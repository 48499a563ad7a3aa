// Fetches the drawings; the browser keeps them, for they are the same for every patient.

async function load(holder) {
  try {
    const response = await fetch(holder.dataset.drawing, { redirect: "manual" });
    if (!response.ok) {
      throw new Error(String(response.status));
    }
    holder.innerHTML = await response.text();
  } catch {
    return false;
  }
  return true;
}

// Resolves when all are there; until then it says so in their place and tries again.
export async function loadDrawings(root) {
  const holders = [...root.querySelectorAll("[data-drawing]")];
  for (;;) {
    const missing = holders.filter((holder) => !holder.querySelector("svg"));
    const loaded = await Promise.all(missing.map(load));
    if (loaded.every(Boolean)) {
      return;
    }
    for (const holder of holders.filter((each) => !each.querySelector("svg"))) {
      holder.textContent = "The drawing cannot be loaded now. Trying again …";
    }
    await new Promise((resolve) => setTimeout(resolve, 3000));
  }
}
