// Writes homographies.json: random point sets, and where two general-purpose
// libraries of the npm registry map further points by the homography of each.
// Sets of four points are solved by perspective-transform (MIT), sets of more,
// with noise, by the direct linear transformation with ml-matrix's (MIT)
// singular value decomposition, after moving and scaling both sides as
// Hartley & Zisserman, Multiple View Geometry, 2nd ed., 4.4.4 say.
//
//   npm install --no-save perspective-transform@1.1.3 ml-matrix@6.15.1
//   node homographies.mjs > homographies.json
import { createRequire } from 'node:module'

const require = createRequire(import.meta.url)
const perspective = require('perspective-transform')
const { Matrix, SVD } = require('ml-matrix')

// The same numbers each time (mulberry32).
let state = 20261125
function random() {
  state = (state + 0x6d2b79f5) | 0
  let t = Math.imul(state ^ (state >>> 15), 1 | state)
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
  return ((t ^ (t >>> 14)) >>> 0) / 4294967296
}
const between = (a, b) => a + (b - a) * random()

const spread = [[-1, -1], [1, -1], [1, 1], [-1, 1]]
const near = ([x, y], by) => [x + between(-by, by), y + between(-by, by)]

function normalising(points) {
  const n = points.length
  const cx = points.reduce((s, p) => s + p[0], 0) / n
  const cy = points.reduce((s, p) => s + p[1], 0) / n
  const far = points.reduce((s, p) => s + Math.hypot(p[0] - cx, p[1] - cy), 0) / n
  const k = Math.SQRT2 / far
  return new Matrix([[k, 0, -k * cx], [0, k, -k * cy], [0, 0, 1]])
}

function apply(h, [x, y]) {
  const [u, v, w] = h.mmul(Matrix.columnVector([x, y, 1])).to1DArray()
  return [u / w, v / w]
}

function bySVD(from, to) {
  const a = normalising(from)
  const b = normalising(to)
  const rows = []
  from.forEach((p, i) => {
    const [x, y] = apply(a, p)
    const [u, v] = apply(b, to[i])
    rows.push([x, y, 1, 0, 0, 0, -u * x, -u * y, -u], [0, 0, 0, x, y, 1, -v * x, -v * y, -v])
  })
  const right = new SVD(new Matrix(rows)).rightSingularVectors
  const h = new Matrix([0, 1, 2].map((i) => [0, 1, 2].map((j) => right.get(3 * i + j, 8))))
  const inverse = new Matrix([[1 / b.get(0, 0), 0, -b.get(0, 2) / b.get(0, 0)], [0, 1 / b.get(0, 0), -b.get(1, 2) / b.get(0, 0)], [0, 0, 1]])
  return inverse.mmul(h).mmul(a)
}

const sets = []
for (let i = 0; i < 30; i++) {
  const from = spread.map((p) => near(p, 0.35))
  const to = spread.map((p) => near(p, 0.35))
  const found = perspective(from.flat(), to.flat())
  const asked = [0, 1, 2].map(() => [between(-1, 1), between(-1, 1)])
  sets.push({ by: 'perspective-transform 1.1.3', from, to, asked, mapped: asked.map(([x, y]) => found.transform(x, y)) })
}
for (let i = 0; i < 30; i++) {
  const n = 5 + (i % 8)
  const from = []
  for (let k = 0; k < n; k++) from.push(k < 4 ? near(spread[k], 0.35) : [between(-1, 1), between(-1, 1)])
  const true_ = new Matrix([
    [between(300, 500), between(-60, 60), 960],
    [between(-60, 60), between(200, 400), 540],
    [between(-0.2, 0.2), between(-0.2, 0.2), 1],
  ])
  const to = from.map((p) => near(apply(true_, p), 2))
  const found = bySVD(from, to)
  const asked = [0, 1, 2].map(() => [between(-1, 1), between(-1, 1)])
  sets.push({ by: 'ml-matrix 6.15.1', from, to, asked, mapped: asked.map((p) => apply(found, p)) })
}
console.log('[\n' + sets.map((s) => JSON.stringify(s)).join(',\n') + '\n]')
