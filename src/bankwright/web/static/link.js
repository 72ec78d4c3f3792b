/* The link to the bench computer may be gone: a link or a form is followed only when the computer answers. The sheet
   in hand is never given up for the error page of a browser; Fire is in the sheet and needs no link at all. */
(function () {
  "use strict";
  var WAIT = 3000, root = document.documentElement;
  function ask() {
    var stop = new AbortController(), timer = setTimeout(function () { stop.abort(); }, WAIT);
    return fetch("/static/icon.svg", {cache: "no-store", signal: stop.signal}).finally(function () { clearTimeout(timer); });
  }
  function tell(lost) {
    if (root.classList.contains("nolink") === lost) { return; }
    root.classList.toggle("nolink", lost);
    if (!lost) { say(""); }
  }
  function say(words) {
    var place = document.getElementById("nolink");
    if (place) { place.hidden = !words; place.textContent = words; }
  }
  function gone(what) {
    tell(true);
    say("No link to the bench computer: " + what + " was not opened, and this sheet stays. Fire is on this device, and in Build the steps ahead.");
  }
  function go(href, what) {
    ask().then(function () { tell(false); location.assign(href); }).catch(function () { gone(what || "that page"); });
  }
  document.addEventListener("bankwright:go", function (event) { go(event.detail.href, event.detail.words); });
  document.addEventListener("bankwright:link", function (event) { tell(event.detail.lost); });

  function leads(link) {
    var target = new URL(link.getAttribute("href"), location.href);
    if (target.origin !== location.origin || link.hasAttribute("target")) { return null; }
    return target.hash && target.pathname + target.search === location.pathname + location.search ? null : target.href;
  }
  window.addEventListener("click", function (event) {
    var link = event.target.closest && event.target.closest("a[href]");
    if (!link || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) { return; }
    var href = leads(link), name = link.querySelector("b") || link;
    if (href) { event.preventDefault(); go(href, "\u201c" + name.textContent.trim().slice(0, 40) + "\u201d"); }
  });
  window.addEventListener("submit", function (event) {
    var form = event.target, sent = event.submitter;
    if (event.defaultPrevented || form.dataset.sure) { delete form.dataset.sure; return; }
    event.preventDefault();
    if (form.dataset.asked) { return; }
    form.dataset.asked = "yes";
    ask().then(function () { tell(false); form.dataset.sure = "yes"; form.requestSubmit(sent); })
      .catch(function () { tell(true); say("No link to the bench computer: nothing was sent. What is typed stays here; try again when the link is back."); })
      .finally(function () { delete form.dataset.asked; });
  });
  window.addEventListener("keydown", function (event) { if (event.key === "Escape" && location.hash === "#fire") { location.hash = "#on"; } });
  setInterval(function () { if (root.classList.contains("nolink")) { ask().then(function () { tell(false); }).catch(function () { /* still gone */ }); } }, 4000);

  /* a sheet that the browser kept for its Back button is asked for anew, if that can be and nothing was typed in it */
  window.addEventListener("pageshow", function (event) {
    var ways = performance.getEntriesByType("navigation"), back = event.persisted || ways.length && ways[0].type === "back_forward";
    var typed = Array.from(document.querySelectorAll("input[type=text], textarea")).some(function (f) { return f.value !== f.defaultValue; });
    if (back) { ask().then(function () { if (!typed) { location.reload(); } }).catch(function () { tell(true); }); }
  });
}());
