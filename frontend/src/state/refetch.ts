/**
 * Makes a fetch that many events may ask for run once at a time: asked for again while it runs, it runs once more at
 * the end, so that what is shown is never older than the last event.
 */
export function coalesce(run: () => Promise<void>): () => Promise<void> {
  let running: Promise<void> | null = null
  let again = false
  async function loop(): Promise<void> {
    try {
      do {
        again = false
        await run()
      } while (again)
    } finally {
      running = null
    }
  }
  return () => {
    if (running) again = true
    else running = loop()
    return running!
  }
}

/** As coalesce, with a pause after each run: for news that comes by the dozen, as when clips are being made. */
export function paced(run: () => Promise<void>, pause = 2_000): () => Promise<void> {
  return coalesce(async () => {
    await run()
    await new Promise((done) => setTimeout(done, pause))
  })
}
