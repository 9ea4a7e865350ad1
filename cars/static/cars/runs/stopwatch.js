// A stopwatch for the laps of a run. Presses are kept on the device until they are put in the box,
// so that a reload loses none; times are of the monotonic clock, tied to the wall clock once a page.

const watch = document.querySelector(".stopwatch");
const box = document.querySelector("[name=laps]");
const timedBy = document.querySelector("[name=timed_by]");
const key = `laps-pressed-${watch.dataset.run}`;
const part = (name) => watch.querySelector(`[data-${name}]`);
const ends = performance.timeOrigin;

// Each press: when, in ms since 1970 by the page's own clock, and which page pressed it.
let presses = read();
let lock = null;

function read() {
  try {
    return JSON.parse(localStorage.getItem(key)) ?? [];
  } catch {
    return [];
  }
}

function keep() {
  try {
    localStorage.setItem(key, JSON.stringify(presses));
  } catch {
    part("running").textContent = "This device keeps nothing: do not reload.";
  }
}

function laps() {
  return presses.slice(1).map((press, index) => ({
    seconds: (press.at - presses[index].at) / 1000,
    broken: press.page !== presses[index].page,
  }));
}

const text = () => laps().map((lap) => lap.seconds.toFixed(2)).join(" ");

function show() {
  part("laps").replaceChildren(
    ...laps().map((lap) => {
      const line = document.createElement("li");
      line.textContent = lap.seconds.toFixed(2);
      if (lap.broken) {
        line.className = "out";
        const says = document.createElement("span");
        says.textContent = " across a reload";
        line.append(says);
      }
      return line;
    }),
  );
  part("press").textContent = presses.length ? "Lap" : "Start";
  for (const name of ["undo", "clear"]) part(name).disabled = !presses.length;
  part("use").disabled = presses.length < 2;
}

async function stayAwake() {
  try {
    lock ??= await navigator.wakeLock?.request("screen");
    lock?.addEventListener("release", () => { lock = null; }, { once: true });
  } catch {
    // The browser may refuse, on a low battery; the stopwatch runs all the same.
  }
}

part("press").addEventListener("pointerdown", (event) => {
  event.preventDefault();
  press();
});
part("press").addEventListener("keydown", (event) => {
  if ((event.key === "Enter" || event.key === " ") && !event.repeat) {
    event.preventDefault();
    press();
  }
});

function press() {
  presses.push({ at: ends + performance.now(), page: ends });
  keep();
  show();
  stayAwake();
}

part("undo").addEventListener("click", () => {
  presses.pop();
  keep();
  show();
});
part("clear").addEventListener("click", () => {
  presses = [];
  keep();
  show();
});
part("use").addEventListener("click", () => {
  box.value = text();
  timedBy.value = "hand";
  box.focus();
});
document.addEventListener("visibilitychange", () => {
  if (!document.hidden && presses.length) stayAwake();
});
setInterval(() => {
  const last = presses.at(-1);
  part("running").textContent = last ? ((ends + performance.now() - last.at) / 1000).toFixed(1) : "";
}, 100);

// What stands on the run is not pressed a second time.
if (presses.length && box.defaultValue.trim().split(/\s+/).join(" ") === text()) {
  presses = [];
  keep();
}
watch.hidden = false;
show();
