// Light or dark, before the first paint: as the system has it, or as chosen here.
(() => {
  const kept = localStorage.getItem("look");
  if (kept) document.documentElement.dataset.look = kept;
})();
