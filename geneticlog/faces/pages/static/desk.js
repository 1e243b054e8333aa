"use strict";
// A part of the page that refreshes itself, and a filter of table rows.
const part = document.querySelector("[data-refresh]");
if (part) {
  const note = document.getElementById("refreshed");
  setInterval(async () => {
    if (document.hidden) return;
    try {
      const answer = await fetch(location.pathname + "?part=1", {headers: {accept: "text/html"}});
      if (!answer.ok) throw new Error();
      const fresh = await answer.text();
      if (part.innerHTML !== fresh) part.innerHTML = fresh;
      note.textContent = "Refreshed at " + new Date().toLocaleTimeString() + ".";
    } catch {
      note.textContent = "The server cannot be reached; what is shown may be old.";
    }
  }, Number(part.dataset.refresh) * 1000);
}
const filter = document.querySelector("[data-filter]");
if (filter) {
  const rows = [...document.querySelectorAll("tbody tr")].map(row => [row, row.textContent.toLowerCase()]);
  filter.addEventListener("input", () => {
    const wanted = filter.value.toLowerCase();
    for (const [row, text] of rows) row.hidden = !text.includes(wanted);
  });
}
