// Number pad for gloves, and a screen that stays lit while somebody stands at the machine.

export function watchPad(): void {
  const form = document.querySelector<HTMLFormElement>("form[data-pad]");
  if (form) addPad(form);
  if (document.body.classList.contains("machine")) {
    stayLit();
    document.addEventListener("visibilitychange", stayLit);
  }
}

function addPad(form: HTMLFormElement): void {
  const inputs = [...form.querySelectorAll<HTMLInputElement>("input:not([type=hidden])")];
  let on = inputs.find((i) => i.value === "") ?? inputs[0];
  if (!on) return;
  const mark = (input: HTMLInputElement): void => {
    on = input;
    for (const i of inputs) i.classList.toggle("on", i === input);
  };
  for (const input of inputs) input.addEventListener("focus", () => mark(input));
  mark(on);
  const pad = document.createElement("div");
  pad.className = "pad";
  pad.setAttribute("role", "group");
  pad.setAttribute("aria-label", "Number pad");
  const keys = ["7", "8", "9", "delete", "4", "5", "6", "+/−", "1", "2", "3", inputs.length > 1 ? "next" : "", "0", "."];
  for (const key of keys) {
    if (key === "") {
      pad.append(document.createElement("span"));
      continue;
    }
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = key;
    if (key.length > 3) button.className = "word";
    button.addEventListener("click", () => {
      if (!on) return;
      if (key === "next") mark(inputs[(inputs.indexOf(on) + 1) % inputs.length] ?? on);
      else on.value = typed(on.value, key);
    });
    pad.append(button);
  }
  const enter = form.querySelector(".main");
  enter?.before(pad);
  if (enter) pad.append(enter);
}

function typed(value: string, key: string): string {
  if (key === "delete") return value.slice(0, -1);
  if (key === "+/−") return value.startsWith("-") ? value.slice(1) : `-${value}`;
  if (key === "." && value.includes(".")) return value;
  return value.length < 12 ? value + key : value;
}

function stayLit(): void {
  if (document.visibilityState === "visible" && "wakeLock" in navigator) {
    navigator.wakeLock.request("screen").catch(() => undefined); // not granted: nothing is lost
  }
}
