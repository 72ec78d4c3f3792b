/* Light or dark paper: the choice is kept on this device and set before anything is painted. */
(function () {
  "use strict";
  var root = document.documentElement, dark = matchMedia("(prefers-color-scheme: dark)");
  function kept() { try { return localStorage.getItem("bankwright.paper"); } catch (e) { return null; } }
  function now() { return root.dataset.theme || (dark.matches ? "dark" : "light"); }
  if (kept() === "light" || kept() === "dark") { root.dataset.theme = kept(); }
  function say() { document.querySelectorAll("[data-paper]").forEach(function (b) { b.textContent = "Paper: " + now(); }); }
  document.addEventListener("click", function (event) {
    if (!event.target.closest("[data-paper]")) { return; }
    root.dataset.theme = now() === "dark" ? "light" : "dark";
    try { localStorage.setItem("bankwright.paper", root.dataset.theme); } catch (e) { /* not kept, still set */ }
    say();
  });
  document.addEventListener("DOMContentLoaded", say);
  document.addEventListener("htmx:afterSettle", say);
  dark.addEventListener("change", say);
}());
