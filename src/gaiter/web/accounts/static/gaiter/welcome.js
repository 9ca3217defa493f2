// Puts the code behind # into its box and takes it out of the address: it stands in no history.
const box = document.querySelector("[name=link]");
if (box instanceof HTMLInputElement && location.hash.length > 1) {
  box.value = decodeURIComponent(location.hash.slice(1));
  history.replaceState(null, "", location.pathname);
}
