/** Two short signals: one soft tone, kept; two lower ones, a question. Absent sound is no fault. */

const KEPT = [{ hertz: 740, after: 0 }];
const ASKED = [{ hertz: 370, after: 0 }, { hertz: 294, after: 0.17 }];
const LENGTH = 0.11; // s; short, so that fast entry stays told apart (own choice)
const LOUD = 0.12; // of full scale: soft (own choice)

/** @type {?AudioContext} */
let context = null;

/** One soft tone. */
export const toneKept = () => play(KEPT);

/** Two lower tones. */
export const toneAsked = () => play(ASKED);

function play(tones) {
  if (navigator.userActivation && !navigator.userActivation.hasBeenActive) {
    return; // browsers let a page sound only once somebody has done something in it
  }
  try {
    context ??= new AudioContext();
    if (context.state === "suspended") {
      context.resume().catch(() => undefined);
    }
    tones.forEach(({ hertz, after }) => tone(context, hertz, context.currentTime + after));
  } catch {
    return; // a browser without sound
  }
}

function tone(sound, hertz, start) {
  const source = sound.createOscillator();
  const level = sound.createGain();
  source.frequency.value = hertz;
  level.gain.setValueAtTime(0, start);
  level.gain.linearRampToValueAtTime(LOUD, start + 0.012);
  level.gain.exponentialRampToValueAtTime(0.0001, start + LENGTH);
  source.connect(level).connect(sound.destination);
  source.start(start);
  source.stop(start + LENGTH + 0.02);
}
