import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { apart, contrast, luminance, visions } from './contrast'

const css = readFileSync(new URL('./tokens.css', import.meta.url), 'utf8')

/** The colour of a token in a theme, from the file that the page uses. */
function token(name: string, theme: 'light' | 'dark'): string {
  const m = new RegExp(`--${name}:\\s*(?:light-dark\\((#\\w{6}),\\s*(#\\w{6})\\)|(#\\w{6}))`).exec(css)
  if (!m) throw new Error(`no colour --${name} in tokens.css`)
  return (m[3] ?? (theme === 'light' ? m[1] : m[2]))!
}

const grounds = ['paper', 'raised', 'sunken', 'hover']
const on = (texts: string[], under: string[]) => texts.flatMap((t) => under.map((g): [string, string] => [t, g]))

// WCAG 2.2, 1.4.3 Contrast (Minimum), level AA: 4.5:1 for text of any size.
const texts: [string, string][] = [
  ...on(['ink', 'ink-soft', 'ink-faint', 'link', 'accent-text', 'good', 'bad', 'action'], grounds),
  ['on-action', 'action'],
  ['on-action', 'action-hover'],
  ['on-accent', 'accent'],
  ['accent-text', 'accent-wash'],
  ['ink', 'accent-wash'],
  ['ink-soft', 'accent-wash'],
  ['good', 'good-wash'],
  ['ink', 'good-wash'],
  ['bad', 'bad-wash'],
  ['ink', 'bad-wash'],
  ['on-bad-fill', 'bad-fill'],
  ['paper', 'ink'],
  ...on(['on-stage', 'on-stage-soft', 'accent', 'tone-0', 'tone-1', 'tone-2', 'tone-3'], ['stage', 'stage-raised']),
]

// 1.4.11 Non-text Contrast, level AA: 3:1 for edges of controls, marks and the focus ring.
const marks: [string, string][] = [
  ...on(['edge', 'focus', 'bad'], grounds),
  ...on(['action', 'sound', 'motion', 'ink'], ['raised']),
  ...on(['action', 'accent-text'], ['sunken']),
  ...on(['middled', 'mistimed', 'edged', 'missed', 'let-go', 'other'], ['paper', 'raised', 'sunken', 'band']),
  ['accent-text', 'accent-wash'],
  ['stage-line', 'stage'],
  ['accent', 'stage'],
]

describe('contrast', () => {
  // The two ends of the scale are stated in the definition itself: 1:1 and 21:1.
  it('has the ends of the scale', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 10)
    expect(contrast('#777777', '#777777')).toBe(1)
    expect(luminance('#ffffff')).toBeCloseTo(1, 10)
  })
  // From memory: #767676 is commonly named as the lightest grey that still passes on white, and #777777 as 4.48:1.
  it('tells the greys at the edge of AA apart', () => {
    expect(contrast('#777777', '#ffffff')).toBeLessThan(4.5)
    expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2)
    expect(contrast('#767676', '#ffffff')).toBeGreaterThan(4.5)
  })
})

describe.each(['light', 'dark'] as const)('the %s theme', (theme) => {
  // What lies side by side in a chart must not look alike to anybody; a shape tells the rest.
  const pairs = ['middled', 'mistimed', 'edged', 'missed', 'let-go'].flatMap((a, i, list) => list.slice(i + 1).map((b) => [a, b] as const))
  it.each(visions)('is told apart with %s', (_, matrix) => {
    for (const [a, b] of pairs) expect(apart(token(a, theme), token(b, theme), matrix), `${a}, ${b}`).toBeGreaterThan(12)
  })
  it.each(texts)('text %s on %s is readable', (text, ground) => {
    expect(contrast(token(text, theme), token(ground, theme))).toBeGreaterThanOrEqual(4.5)
  })
  it.each(marks)('mark %s on %s is seen', (mark, ground) => {
    expect(contrast(token(mark, theme), token(ground, theme))).toBeGreaterThanOrEqual(3)
  })
})
