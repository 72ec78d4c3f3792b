/* The link to the bench computer may be gone: a link or a form is followed only when the computer answers. The sheet
   in hand is never given up for the error page of a browser; Fire is in the sheet and needs no link at all. */
(function () {
  "use strict";
  var WAIT = 3000, root = document.documentElement, newest = null, pressed = new WeakMap();
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
  function leave(begins) { document.dispatchEvent(new CustomEvent("bankwright:leave", {detail: {begins: begins}})); }
  /* the newest wish counts; nothing renews the sheet between a tap and what it opens */
  function go(href, what, follow) {
    var mine = newest = {};
    leave(true);
    ask().then(function () { tell(false); if (mine === newest) { (follow || location.assign.bind(location))(href); } })
      .catch(function () { if (mine === newest) { gone(what || "that page"); newest = null; } }).finally(function () { leave(false); });
  }
  function keep(href) { /* a file to keep: the sheet is not left for it */
    var link = document.createElement("a");
    link.href = href; link.download = ""; link.click();
    newest = null;
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
    if (href) { event.preventDefault(); go(href, "\u201c" + name.textContent.trim().slice(0, 40) + "\u201d", link.hasAttribute("download") ? keep : null); }
  });
  window.addEventListener("submit", function (event) {
    var form = event.target, sent = event.submitter;
    if (event.defaultPrevented || form.dataset.sure) { delete form.dataset.sure; return; }
    event.preventDefault();
    pressed.set(form, sent); /* the button that was pressed last */
    if (form.dataset.asked) { return; }
    form.dataset.asked = "yes";
    newest = {}; /* no link that was tapped before leads away from it */
    leave(true);
    ask().then(function () { tell(false); form.dataset.sure = "yes"; form.requestSubmit(pressed.get(form)); })
      .catch(function () { newest = null; tell(true); say("No link to the bench computer: nothing was sent. What is typed stays here; try again when the link is back."); })
      .finally(function () { delete form.dataset.asked; leave(false); });
  });
  window.addEventListener("keydown", function (event) { if (event.key === "Escape" && location.hash === "#fire") { location.hash = "#on"; } });
  setInterval(function () { if (root.classList.contains("nolink")) { ask().then(function () { tell(false); }).catch(function () { /* still gone */ }); } }, 4000);

  /* the links of the route stay the same elements when their words change: a tap meanwhile is not lost, an open card stays open */
  function route(fresh) {
    var old = document.getElementById("route"), parts = "nav > a, .card a, summary, .ruler", were = old.querySelectorAll(parts), are = fresh.querySelectorAll(parts);
    if (were.length !== are.length) { old.replaceWith(fresh); return; }
    were.forEach(function (part, n) {
      if (part.isEqualNode(are[n])) { return; }
      ["class", "href", "aria-current"].forEach(function (name) { if (are[n].hasAttribute(name)) { part.setAttribute(name, are[n].getAttribute(name)); } else { part.removeAttribute(name); } });
      part.replaceChildren.apply(part, Array.from(are[n].childNodes));
    });
  }
  document.addEventListener("bankwright:route", function (event) { route(event.detail); });
  document.addEventListener("htmx:oobBeforeSwap", function (event) {
    var fresh = event.target.id === "route" && event.detail.fragment.querySelector("#route");
    if (fresh) { event.detail.shouldSwap = false; route(fresh); }
  });

  /* a tap whose ground is drawn anew between down and up: what stands there now takes it, if it is the same thing */
  var down = null;
  function thing(at) { return at && at.closest ? at.closest("a[href], button, summary, label, [data-place]") : null; }
  function called(it) { return [it.tagName, it.getAttribute("href"), it.dataset.place, it.textContent.trim()].join("|"); }
  window.addEventListener("pointerdown", function (event) { var it = thing(event.target); down = it && {it: it, x: event.clientX, y: event.clientY}; }, true);
  window.addEventListener("pointerup", function (event) {
    var was = down, now = thing(document.elementFromPoint(event.clientX, event.clientY));
    down = null;
    if (!was || was.it.isConnected || Math.hypot(event.clientX - was.x, event.clientY - was.y) > 10 || !now || called(now) !== called(was.it)) { return; }
    now.dispatchEvent(new MouseEvent("click", {bubbles: true, cancelable: true, view: window}));
  }, true);

  /* whether something stands in a field of this sheet that is kept nowhere else: the sheet is not renewed over it */
  function typed() {
    return Array.from(document.querySelectorAll("input[type=text], textarea")).some(function (f) { return f.value !== f.defaultValue && !f.closest("[data-field], [data-keep]"); });
  }
  document.addEventListener("bankwright:renew", function (event) { if (typed() || document.activeElement && document.activeElement.matches("input[type=text], textarea") || document.querySelector(".bad")) { event.preventDefault(); } });

  /* a sheet that the browser kept for its Back button is asked for anew, if that can be, nothing was typed in it and it is not being left */
  window.addEventListener("pageshow", function (event) {
    var ways = performance.getEntriesByType("navigation"), back = event.persisted || ways.length && ways[0].type === "back_forward";
    if (event.persisted) { newest = null; }
    if (back) { ask().then(function () { if (!newest && !typed()) { location.reload(); } }).catch(function () { tell(true); }); }
  });
}());
