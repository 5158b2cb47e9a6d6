// A key handed over in the address after '#' never reaches the server's log: it goes into the form
// and out of the address and the history at once.
const key = new URLSearchParams(location.hash.slice(1)).get("key");
if (key) {
  history.replaceState(null, "", location.pathname + location.search);
  const form = document.querySelector("form.key");
  form.elements.key.value = key;
  form.submit();
}
