// What every page does beyond its links and forms: changes in place, dropped files, progress.

import { watchDrop } from "./drop";
import { watchForms } from "./live";
import { watchPad } from "./pad";
import { watchRun } from "./run";

document.documentElement.classList.add("scripted");
watchForms();
watchDrop();
watchRun();
watchPad();
document.addEventListener("click", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-print]")) window.print();
});
