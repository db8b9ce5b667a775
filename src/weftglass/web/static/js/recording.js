// A few seconds from the microphone as plain samples, and those as a WAV file.

const PLAIN = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };

/** Record for some seconds; `heard` is told each block's loudest sample. Gives {samples, rate}. */
export async function record(seconds, heard, signal) {
  const stream = await navigator.mediaDevices.getUserMedia({ audio: PLAIN });
  const context = new AudioContext();
  const blocks = [];
  try {
    await context.resume();
    const source = context.createMediaStreamSource(stream);
    await new Promise((done, fail) => {
      let count = 0;
      const take = (samples) => {
        blocks.push(samples);
        count += samples.length;
        heard(samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0), count / context.sampleRate);
        if (count >= seconds * context.sampleRate) done();
      };
      signal.addEventListener("abort", () => done(), { once: true });
      stream.getAudioTracks()[0].addEventListener("ended", () => fail(new Error("The microphone was taken away.")), { once: true });
      listen(context, source, take).catch(fail);
    });
    return { samples: joined(blocks), rate: context.sampleRate };
  } finally {
    stream.getTracks().forEach((track) => track.stop());
    await context.close();
  }
}

/** By worklet where there is one, else by the older node. */
async function listen(context, source, take) {
  if (context.audioWorklet) {
    await context.audioWorklet.addModule("/static/js/pcm.js");
    const node = new AudioWorkletNode(context, "pcm", { numberOfOutputs: 0 });
    node.port.onmessage = (event) => take(event.data);
    source.connect(node);
    return;
  }
  const node = context.createScriptProcessor(4096, 1, 1);
  node.onaudioprocess = (event) => take(event.inputBuffer.getChannelData(0).slice());
  source.connect(node);
  node.connect(context.destination);
}

function joined(blocks) {
  const whole = new Float32Array(blocks.reduce((sum, block) => sum + block.length, 0));
  blocks.reduce((at, block) => { whole.set(block, at); return at + block.length; }, 0);
  return whole;
}

/** A WAV file: one channel, 16 bits, little-endian. */
export function wav({ samples, rate }) {
  const view = new DataView(new ArrayBuffer(44 + 2 * samples.length));
  const text = (at, letters) => [...letters].forEach((letter, i) => view.setUint8(at + i, letter.charCodeAt(0)));
  text(0, "RIFF"); view.setUint32(4, 36 + 2 * samples.length, true); text(8, "WAVEfmt ");
  view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
  view.setUint32(24, rate, true); view.setUint32(28, 2 * rate, true); view.setUint16(32, 2, true); view.setUint16(34, 16, true);
  text(36, "data"); view.setUint32(40, 2 * samples.length, true);
  samples.forEach((sample, i) => view.setInt16(44 + 2 * i, Math.round(32767 * Math.max(-1, Math.min(1, sample))), true));
  return new Blob([view.buffer], { type: "audio/wav" });
}
