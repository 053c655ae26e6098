// What every page does beyond its links and forms: changes in place, dropped files, progress.

import { watchDrop, watchFiles } from "./drop";
import { refresh, watchForms, watchGoing } from "./live";
import { watchPad } from "./pad";
import { watchRun } from "./run";

document.documentElement.classList.add("scripted");
watchForms();
watchGoing();
watchDrop();
watchFiles();
watchRun();
watchPad();
// somebody comes back to this page: what others changed meanwhile is drawn, what was typed here stays
document.addEventListener("visibilitychange", () => {
  const inParts = document.querySelectorAll("[data-part]").length > 1;
  if (document.visibilityState === "visible" && inParts) void refresh(location.pathname + location.search);
});
document.addEventListener("click", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-print]")) window.print();
});
