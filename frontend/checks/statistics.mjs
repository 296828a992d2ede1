// Figures of a general-purpose statistics library, for tests in Go to be held
// against: reads a JSON list of questions, writes the list of answers.
import { readFileSync } from 'node:fs'
import jstat from 'jstat'

const { jStat } = jstat

const answer = {
  // Fisher's exact chance, two-sided, from the library's hypergeometric density.
  fisher: ({ a, m, b, n }) => {
    const hits = a + b
    const chance = (x) => jStat.hypgeom.pdf(x, m + n, hits, m)
    const seen = chance(a)
    let sum = 0
    for (let x = Math.max(0, hits - n); x <= Math.min(m, hits); x++) {
      if (chance(x) <= seen * (1 + 1e-7)) sum += chance(x)
    }
    return [sum]
  },
  // Mean, standard deviation and Student's interval.
  mean: ({ x }) => {
    const half = (jStat.studentt.inv(0.975, x.length - 1) * jStat.stdev(x, true)) / Math.sqrt(x.length)
    return [jStat.mean(x), jStat.mean(x) - half, jStat.mean(x) + half]
  },
  // Two-sided chance of Student's t.
  student: ({ t, freedom }) => [2 * jStat.studentt.cdf(-Math.abs(t), freedom)],
  median: ({ x }) => [jStat.median(x)],
  // Two-sided chance of a standard normal deviate.
  normal: ({ z }) => [2 * jStat.normal.cdf(-Math.abs(z), 0, 1)],
}

const questions = JSON.parse(readFileSync(0, 'utf8'))
process.stdout.write(JSON.stringify(questions.map((q) => answer[q.what](q))))
