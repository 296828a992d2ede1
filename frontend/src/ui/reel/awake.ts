/** Keeps a phone's screen on while something plays, where the browser can. For an $effect: returns the way to stop. */
export function keepAwake(playing: () => boolean): () => void {
  let held: WakeLockSentinel | null = null
  let stopped = !playing() || !('wakeLock' in navigator)
  const ask = () => {
    if (stopped || held || document.visibilityState !== 'visible') return
    navigator.wakeLock.request('screen').then(
      (lock) => {
        if (stopped) void lock.release()
        else {
          held = lock
          lock.addEventListener('release', () => (held = null))
        }
      },
      () => {}, // a low battery may refuse; the reel plays all the same
    )
  }
  ask()
  document.addEventListener('visibilitychange', ask)
  return () => {
    stopped = true
    document.removeEventListener('visibilitychange', ask)
    void held?.release()
  }
}
