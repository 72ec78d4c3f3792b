/* Touching a place in the drawing; fields that are wrong; what the page does when it hears of changes on disk. */
(function () {
  "use strict";
  document.addEventListener("click", function (event) {
    if (event.target.closest("a, button, select, input, label")) { return; }
    var place = event.target.closest(".drawing [data-place]");
    if (place) { document.dispatchEvent(new CustomEvent("bankwright:go", { detail: { href: "/at/" + encodeURIComponent(place.getAttribute("data-place")), words: place.getAttribute("data-place") } })); }
  });

  /* a finding that is touched shows its case in the drawing; one that is linked to is unfolded */
  document.addEventListener("click", function (event) {
    var head = event.target.closest(".finding[data-case] .bar-of, .finding[data-case] h3, .finding[data-case] .fig");
    if (!head || event.target.closest("a") || !window.htmx || !document.getElementById("drawing")) { return; }
    window.htmx.ajax("GET", "/plan/drawing?case=" + encodeURIComponent(head.closest(".finding").dataset.case), { target: "#drawing", swap: "outerHTML" });
  });
  function unfold() {
    var found = location.hash.length > 1 && document.getElementById(location.hash.slice(1)), fold = found && found.closest("details:not([open])");
    while (fold) { fold.open = true; fold = fold.parentElement.closest("details:not([open])"); found.scrollIntoView(); }
  }
  window.addEventListener("hashchange", unfold); document.addEventListener("DOMContentLoaded", unfold);

  /* the answer says which field it speaks of; the field takes the mark, its text stays */
  function mark() {
    document.querySelectorAll(".says [data-wrong], .says [data-right]").forEach(function (said) {
      var wrong = said.hasAttribute("data-wrong"), field = document.getElementById(said.dataset.wrong || said.dataset.right);
      if (!field) { return; }
      field.classList.toggle("bad", wrong);
      if (wrong) { field.setAttribute("aria-invalid", "true"); } else { field.removeAttribute("aria-invalid"); field.classList.remove("miss"); }
      if (!wrong) { said.remove(); }
    });
  }
  document.addEventListener("htmx:afterSettle", function () {
    mark();
    var digest = document.getElementById("digest");
    if (digest) {
      document.body.dataset.digest = digest.value;
      document.querySelectorAll("input[data-digest]").forEach(function (held) { held.value = digest.value; });
    }
  });

  /* a refusal of the server, said where the page says such things */
  function notice(words, link) {
    var strip = document.createElement("p"), text = document.createElement("span"), place = document.getElementById("notice");
    strip.className = "state strip"; strip.setAttribute("role", "status");
    text.textContent = words; strip.append(text);
    if (link) { var a = document.createElement("a"); a.className = "btn"; a.href = location.href; a.textContent = "Show it"; strip.append(a); }
    place.replaceChildren(strip);
  }
  document.addEventListener("htmx:responseError", function (event) {
    var words = "The server answered " + event.detail.xhr.status + ".";
    try { words = JSON.parse(event.detail.xhr.responseText).faults.map(function (f) { return f.found + ". " + (f.hint || ""); }).join(" "); } catch (e) { /* no list of faults */ }
    notice(words, event.detail.xhr.status === 409);
  });
  document.addEventListener("htmx:sendError", function () { notice("No link to the bench computer. What is typed stays in its field; leave the field again when the link is back.", false); });

  /* what another program or another device did */
  if (window.EventSource && document.querySelector("#main")) {
    var source = new EventSource("/live?digest=" + document.body.dataset.digest);
    var asking = 0, heard = null; /* an answer on its way brings the digest of its own change: it is waited for */
    function late() { if (!asking && heard !== null) { var was = heard; heard = null; changed(was); } }
    function answered() { asking -= 1; setTimeout(late, 100); }
    document.addEventListener("htmx:beforeRequest", function () { asking += 1; });
    document.addEventListener("htmx:afterRequest", answered);
    document.addEventListener("bankwright:leave", function (event) { if (event.detail.begins) { asking += 1; } else { answered(); } });
    window.addEventListener("beforeunload", function () { /* so does the next page, however long it is computed; unless it never comes */
      asking += 1;
      setTimeout(answered, 60000);
    });
    source.addEventListener("bank", function (event) { if (asking) { heard = event.data; } else { changed(event.data); } });
    function shown(digest) {
      var held = document.getElementById("digest"); /* of an answer that came and has not settled yet */
      return digest === document.body.dataset.digest || held && digest === held.value;
    }
    /* what was heard may be older than the last answer: asked before it is believed */
    function changed(digest) {
      if (shown(digest)) { return; }
      fetch("/api/bank", {cache: "no-store", headers: {accept: "application/json"}}).then(function (answer) { return answer.json(); })
        .then(function (bank) { if (asking) { heard = bank.digest; } else if (!shown(bank.digest)) { renew(); } }).catch(function () { /* no link: heard again when it is back */ });
    }
    function renew() {
      if (document.dispatchEvent(new CustomEvent("bankwright:renew", {cancelable: true}))) { location.reload(); } else { notice("The bank file was changed elsewhere. Nothing of yours is lost; nothing was overwritten.", true); }
    }
    source.addEventListener("log", function () { document.dispatchEvent(new CustomEvent("bankwright:log")); });
    window.addEventListener("pagehide", function () { source.close(); });
  }
}());
/* A field that sends its form when it is left changed. */
document.addEventListener("change", function (event) {
  "use strict";
  if (event.target.matches("[data-send]")) { event.target.form.requestSubmit(); }
});
