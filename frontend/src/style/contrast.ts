/**
 * Contrast of two colours by WCAG 2.2: "relative luminance" and "contrast ratio" in its glossary
 * (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance, #dfn-contrast-ratio), and how far apart two colours look, also
 * to those who see fewer of them.
 */
type Three = readonly [number, number, number]
type Matrix = readonly [Three, Three, Three]

/** The parts of "#rrggbb" as linear light, 0 to 1. */
function linear(hex: string): Three {
  const m = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(hex)
  if (!m) throw new Error(`${hex} is not #rrggbb`)
  const [r, g, b] = m.slice(1).map((part) => {
    const c = parseInt(part, 16) / 255
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4
  }) as [number, number, number]
  return [r, g, b]
}

/** The relative luminance of "#rrggbb", 0 to 1. */
export function luminance(hex: string): number {
  const [r, g, b] = linear(hex)
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}

/** The contrast ratio of two colours, 1 to 21, whichever is the lighter. */
export function contrast(a: string, b: string): number {
  const [x, y] = [luminance(a), luminance(b)]
  return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05)
}

const times = (m: Matrix, v: Three): Three => m.map((row) => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]) as unknown as Three

/**
 * Kinds of colour vision: what is seen of linear light without one kind of cone (G. M. Machado, M. M. Oliveira and
 * L. A. F. Fernandes 2009, IEEE Trans. Visualization and Computer Graphics 15:1291-1298; numbers from memory).
 */
export const visions: readonly (readonly [string, Matrix])[] = [
  ['all cones', [[1, 0, 0], [0, 1, 0], [0, 0, 1]]],
  ['no long-wave cones', [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]],
  ['no middle-wave cones', [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.01182, 0.04294, 0.968881]]],
  ['no short-wave cones', [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.3039]]],
]

/** CIE 1976 L*a*b* of linear sRGB, white D65. */
function lab(rgb: Three): Three {
  const clipped = rgb.map((c) => Math.min(1, Math.max(0, c))) as unknown as Three
  const [x, y, z] = times([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]], clipped)
  const f = (t: number) => (t > (6 / 29) ** 3 ? Math.cbrt(t) : t / (3 * (6 / 29) ** 2) + 4 / 29)
  const [fx, fy, fz] = [f(x / 0.9505), f(y), f(z / 1.089)]
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)]
}

/** How far apart two colours look: CIE 1976 colour difference. Two of about 2.3 are just told apart. */
export function apart(a: string, b: string, vision: Matrix): number {
  const [p, q] = [lab(times(vision, linear(a))), lab(times(vision, linear(b)))]
  return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2])
}
