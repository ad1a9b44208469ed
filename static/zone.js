// zone.js: fills an empty input[data-zone] with the time zone that this device
// keeps. Without it the zone is typed.

const field = document.querySelector("input[data-zone]");
if (field && field.value === "") {
  field.value = Intl.DateTimeFormat().resolvedOptions().timeZone ?? "";
}
