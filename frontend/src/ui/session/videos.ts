/** Telling videos among files that were picked or dropped. The server looks inside; this only spares a long upload. */

// What cameras and phones write. Some systems give these no media type.
const ENDINGS = /\.(mp4|m4v|mov|mts|m2ts|ts|avi|mkv|webm|3gp|mpg|mpeg|mxf|insv|lrv)$/i

export const ACCEPT = 'video/*,.mts,.m2ts,.mkv,.avi,.mxf'

export const isVideo = (f: Pick<File, 'name' | 'type'>): boolean => f.type.startsWith('video/') || ENDINGS.test(f.name)

/** Videos and the names of the rest. */
export function sortOut(files: Iterable<File>): { videos: File[]; others: string[] } {
  const videos: File[] = []
  const others: string[] = []
  for (const f of files) isVideo(f) ? videos.push(f) : others.push(f.name)
  return { videos, others }
}

/** What to say of files that are no videos; '' when there are none. */
export function refusal(others: readonly string[]): string {
  if (others.length === 0) return ''
  const shown = others.slice(0, 3).map((n) => `“${n}”`)
  const names = others.length > 3 ? `${shown.join(', ')} and ${others.length - 3} more` : shown.join(' and ')
  return `${names} ${others.length === 1 ? 'is no video and was' : 'are no videos and were'} left out.`
}
