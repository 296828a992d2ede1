/** The phone's microphone, open only while somebody listens for a clap. Nothing that it hears is kept or sent. */
import { ClapEar, type Verdict } from './net-clap'

/** How often what was heard is looked at, ms; the analyser holds more than that. */
const EVERY = 40
const HELD = 32_768

export interface Listening {
  /** Closes the microphone; unless a clap was noted, says why not. */
  stop: () => Verdict
}

export const canHear = (): boolean => !!navigator.mediaDevices?.getUserMedia && typeof AudioContext === 'function'

/** Listens until a clap is heard for sure (`heard` is told how many ms ago it began) or until stopped. Throws when the microphone may not be used. */
export async function listenForClap(heard: (ago: number) => void): Promise<Listening> {
  const stream = await navigator.mediaDevices.getUserMedia({
    audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
  })
  const context = new AudioContext({ latencyHint: 'interactive' })
  await context.resume()
  const analyser = new AnalyserNode(context, { fftSize: HELD })
  context.createMediaStreamSource(stream).connect(analyser)
  const ear = new ClapEar(context.sampleRate)
  const late = (stream.getAudioTracks()[0]?.getSettings() as { latency?: number } | undefined)?.latency ?? 0
  const samples = new Float32Array(HELD)
  let last = context.currentTime
  let open = true

  function close() {
    if (!open) return
    open = false
    clearInterval(timer)
    for (const t of stream.getTracks()) t.stop()
    void context.close()
  }
  function take() {
    const now = context.currentTime
    const fresh = Math.min(HELD, Math.round((now - last) * context.sampleRate))
    last = now
    if (fresh === 0) return
    analyser.getFloatTimeDomainData(samples)
    ear.hear(samples.subarray(HELD - fresh))
    const v = ear.verdict(false)
    if ('at' in v) {
      close()
      heard((ear.seconds - v.at + late) * 1000)
    }
  }
  const timer = setInterval(take, EVERY)
  return {
    stop: () => {
      if (open) take()
      close()
      return ear.verdict(true)
    },
  }
}
