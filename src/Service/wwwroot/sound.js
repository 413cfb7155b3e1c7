const key = "acquire.sound";
let audio = null;

export const wanted = () => { try { return localStorage.getItem(key) === "on"; } catch { return false; } };

/** Switches the sound; where it goes on it is heard once, which also makes the browser allow it later. */
export function want(on) {
    try { localStorage.setItem(key, on ? "on" : "off"); } catch { /* holds for this visit only */ }
    if (on) { wake(); play(); }
}

/** Browsers let a page sound only after somebody touched it. */
export function wake() {
    if (!wanted() || !("AudioContext" in window)) return;
    audio ??= new AudioContext();
    if (audio.state === "suspended") audio.resume();
}

/** Whether a sound asked for could be heard now. */
export const ready = () => audio?.state === "running";

/** Three soft tones, falling. */
export function play() {
    if (!audio) return;
    [660, 550, 440].forEach((hz, i) => {
        const tone = audio.createOscillator();
        const loudness = audio.createGain();
        const at = audio.currentTime + 0.05 + i * 0.42;
        tone.frequency.value = hz;
        tone.type = "sine";
        loudness.gain.setValueAtTime(0, at);
        loudness.gain.linearRampToValueAtTime(0.35, at + 0.03);
        loudness.gain.exponentialRampToValueAtTime(0.001, at + 0.4);
        tone.connect(loudness).connect(audio.destination);
        tone.start(at);
        tone.stop(at + 0.42);
    });
    navigator.vibrate?.([200, 100, 200]);
}
