/* secondLook(scope): a buzz and two short tones. It is never the only sign: the words stand on the screen. */

const TONE_HZ = 660;
const TONE_S = 0.12;
let audio;

export function secondLook(scope = globalThis) {
  scope.navigator.vibrate?.([90, 60, 90]);
  const Context = scope.AudioContext ?? scope.webkitAudioContext;
  if (!Context) return;
  audio ??= new Context();
  audio.resume?.();
  for (const start of [0, 2 * TONE_S]) tone(audio, audio.currentTime + start);
}

function tone(context, from) {
  const oscillator = context.createOscillator();
  const volume = context.createGain();
  oscillator.frequency.value = TONE_HZ;
  // Ends softly: a tone cut off clicks.
  volume.gain.setValueAtTime(0.2, from);
  volume.gain.linearRampToValueAtTime(0, from + TONE_S);
  oscillator.connect(volume).connect(context.destination);
  oscillator.start(from);
  oscillator.stop(from + TONE_S);
}
