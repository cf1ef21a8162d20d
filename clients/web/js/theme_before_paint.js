// A classic script, so that it runs before the first paint and a chosen theme never flashes.
try {
  const theme = localStorage.getItem("threepass.theme");
  if (theme === "light" || theme === "dark") document.documentElement.dataset.theme = theme;
} catch {
  // Storage is blocked: the theme of the system stands.
}
