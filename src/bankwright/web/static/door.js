/* The code behind `#` of the address that the terminal printed: into the field, out of the address. */
(function () {
  "use strict";
  var code = location.hash.slice(1), field = document.getElementById("code");
  if (!code || !field) { return; }
  field.value = code;
  history.replaceState(null, "", location.pathname);
  field.form.requestSubmit();
}());
