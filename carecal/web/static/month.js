// A round is dragged to another day of the month; without a mouse its day below has a form for it.
"use strict";
(() => {
  const form = document.getElementById("dropped");
  let from = null;
  const cell = (event) => event.target.closest && event.target.closest("td[data-day]:not(.past)");
  document.addEventListener("dragstart", (event) => {
    from = event.target.dataset && event.target.dataset.round;
    if (from) event.dataTransfer.setData("text/plain", from);
  });
  document.addEventListener("dragover", (event) => { const over = cell(event); if (from && over) { event.preventDefault(); over.classList.add("over"); } });
  document.addEventListener("dragleave", (event) => { const over = cell(event); if (over) over.classList.remove("over"); });
  document.addEventListener("drop", (event) => {
    const over = cell(event);
    if (!from || !over) return;
    event.preventDefault();
    if (over.dataset.day !== from) { form.elements.start.value = from; form.elements.to.value = over.dataset.day; form.submit(); }
    from = null;
  });
  function opened() {
    const day = location.hash.startsWith("#d-") && document.getElementById(location.hash.slice(1));
    if (day) { day.open = true; day.querySelector("summary").focus(); }
  }
  addEventListener("hashchange", opened);
  opened();
})();
