// Offers the names of the time zones while one is typed, and on a studio's first page the one of
// this device. Without this module the name is typed whole.
const field = document.querySelector('input[name="zone"]');
const names = Intl.supportedValuesOf?.("timeZone") ?? [];

if (field && names.length) {
  const list = document.createElement("datalist");
  list.id = "zone-names";
  const options = ["UTC", ...names].map((value) => Object.assign(document.createElement("option"), { value }));
  list.append(...options);
  field.after(list);
  field.setAttribute("list", list.id);
  const isFirst = field.form.querySelector('input[name="studio"]');
  if (isFirst && field.value === "UTC") field.value = Intl.DateTimeFormat().resolvedOptions().timeZone;
}
