/* Touching a place in the drawing; pages that hear of changes on disk. */
(function () {
  "use strict";
  document.addEventListener("click", function (event) {
    if (event.target.closest("a, button, select, input")) { return; }
    var place = event.target.closest(".drawing [data-place]");
    if (place) { location.assign("/at/" + encodeURIComponent(place.getAttribute("data-place"))); }
  });
}());
