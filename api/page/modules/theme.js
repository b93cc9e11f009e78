// The one place that keeps light or dark; loaded before the first paint, so the page never flashes.

(() => {
  const KEPT = "dough-advisor.theme";
  const root = document.documentElement;
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const kept = () => {
    try {
      return localStorage.getItem(KEPT);
    } catch {
      return null;
    }
  };
  const show = () => {
    root.dataset.theme = kept() ?? (dark.matches ? "dark" : "light");
  };
  dark.addEventListener("change", show);
  document.addEventListener("theme-toggle", () => {
    localStorage.setItem(KEPT, root.dataset.theme === "dark" ? "light" : "dark");
    show();
  });
  show();
})();
