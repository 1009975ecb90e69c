// What every page does a little better with a script: menus close, the page is kept for use without a network.
"use strict";
(() => {
  const menus = () => document.querySelectorAll("details.menu[open], .row details.more[open]");
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    for (const menu of menus()) { menu.open = false; if (menu.contains(document.activeElement)) menu.querySelector("summary").focus(); }
  });
  document.addEventListener("click", (event) => { for (const menu of menus()) if (!menu.contains(event.target) && !event.target.closest(".tap")) menu.open = false; });
  for (const select of document.querySelectorAll("select[data-go], input[data-go]")) select.addEventListener("change", () => { if (select.type !== "file" || select.value) select.form.requestSubmit(); });
  for (const button of document.querySelectorAll("[data-print]")) { button.hidden = false; button.addEventListener("click", () => print()); }
  addEventListener("beforeprint", () => { for (const fold of document.querySelectorAll("details.urgent, details.can")) fold.open = true; });
  if (navigator.serviceWorker && document.querySelector("link[rel=manifest]")) navigator.serviceWorker.register("/sw.js").catch(() => {});
})();
