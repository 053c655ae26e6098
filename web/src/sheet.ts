// What the sheet does beyond its forms: live answers, the play of the program, and the view in 3-D.

import { watchPlay } from "./play";
import { watchRivals } from "./rivals";
import { watchSpacers } from "./spacers";
import { watchTrial } from "./trial";

function watch(): void {
  watchSpacers();
  watchTrial();
  watchRivals();
  watchPlay();
  watchView();
}

/** The 3-D library is fetched only when somebody asks for the view. */
function watchView(): void {
  const stage = document.querySelector<HTMLElement>("[data-view]");
  const button = stage?.querySelector("button[data-open]");
  if (!stage || !button || stage.dataset["on"]) return;
  stage.dataset["on"] = "yes";
  button.addEventListener("click", () => {
    button.remove();
    const waiting = stage.querySelector(".stage-note");
    if (waiting) waiting.textContent = "Making the solids …";
    import("./view")
      .then((m) => m.openView(stage))
      .catch(() => {
        const note = stage.querySelector(".stage-note");
        if (note) note.textContent = "This browser does not draw in 3-D. The drawings above show the same hold.";
      });
  });
}

watch();
document.addEventListener("redrawn", watch);
