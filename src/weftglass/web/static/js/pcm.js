// In the sound's own thread: hands every block of samples on.

class Pcm extends AudioWorkletProcessor {
  process(inputs) {
    const samples = inputs[0]?.[0];
    if (samples) this.port.postMessage(samples.slice());
    return true;
  }
}
registerProcessor("pcm", Pcm);
