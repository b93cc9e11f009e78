// A timer for kneading and resting that rings, and that a reload does not stop.

import { button, h, refill } from "../dom.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";

const MINUTE_MS = 60_000;

/** Draw the timer of a step; what runs is kept by the moment it ends at. */
export function timer(key, minutes) {
  const place = h("div", { class: "timer", role: "timer" });
  const running = () => state.weigh.timer?.key === key;
  let rung = false;
  const draw = () => {
    const left = running() ? state.weigh.timer.until - Date.now() : null;
    if (left !== null && left <= 0 && !rung) {
      rung = true;
      ring();
    }
    refill(
      place,
      left === null
        ? button(t("gloves.start", { minutes }), start)
        : [h("strong", {}, left > 0 ? clock(left) : t("gloves.rings")), button(t("gloves.stop"), stop)],
    );
  };
  const set = (value) => {
    state.weigh.timer = value;
    keep();
    draw();
  };
  const start = () => set({ key, until: Date.now() + minutes * MINUTE_MS });
  const stop = () => set(null);
  draw();
  const tick = setInterval(() => {
    if (!place.isConnected) clearInterval(tick);
    else if (running()) draw();
  }, 1000);
  return place;
}

const clock = (ms) =>
  `${Math.floor(ms / MINUTE_MS)}:${String(Math.ceil((ms % MINUTE_MS) / 1000) % 60).padStart(2, "0")}`;

/** Three tones, without any file; a browser without sound shakes or stays silent. */
function ring() {
  navigator.vibrate?.([400, 200, 400]);
  if (!window.AudioContext) return;
  const sound = new AudioContext();
  [0, 0.5, 1].forEach((after) => {
    const tone = sound.createOscillator();
    tone.connect(sound.destination);
    tone.start(sound.currentTime + after);
    tone.stop(sound.currentTime + after + 0.3);
  });
}
