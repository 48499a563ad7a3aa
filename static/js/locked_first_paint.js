// Runs before the first paint (a plain script in <head>): a tablet that was locked, or signed out without network, shows
// no page of that person; the charting screen has the cover. The marks are those of static/js/tablet/marker.js.
try {
  const { user } = document.documentElement.dataset;
  for (const name of ["charting-locked", "charting-leaving"]) {
    const note = JSON.parse(localStorage.getItem(name));
    if (note && user && String(note.user) === user) {
      document.documentElement.hidden = true;
      location.replace("/charting/");
    }
  }
} catch {
  // no storage: nothing was locked
}
