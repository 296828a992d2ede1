/**
 * The pose models' files, out of their npm packages into the built page: weights and runtimes are served by our own server
 * and nothing is fetched from elsewhere. Each folder bears its package's version, so that its files never change.
 */
import { readFileSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { Plugin } from 'vite'

// By its path: not every package lets its package.json be asked for by name.
const home = (name: string) => fileURLToPath(new URL(`./node_modules/${name}`, import.meta.url))
const versionOf = (folder: string) => (JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')) as { version: string }).version

const pose = home('@mediapipe/pose')
const weights = home('@vladmandic/human')
const runtime = join(home('@tensorflow/tfjs-backend-wasm'), 'dist')

/** Where the files of the model that knows heels and toes are served. */
export const POSE_FILES = `/assets/pose-${versionOf(pose)}/`
/** Where those of the quick one are. */
export const QUICK_FILES = `/assets/quick-${versionOf(weights)}-${versionOf(dirname(runtime))}/`

// Every browser that runs the page knows the SIMD builds; the quick model's runtime asks for the plain one where it is not
// sure. package.json and LICENSE say who made what and on what terms.
const files = new Map<string, string>([
  ...[
    'pose.js',
    'pose_web.binarypb',
    'pose_landmark_full.tflite',
    'pose_solution_packed_assets.data',
    'pose_solution_packed_assets_loader.js',
    'pose_solution_simd_wasm_bin.js',
    'pose_solution_simd_wasm_bin.wasm',
    'package.json',
    'README.md',
  ].map((name) => [POSE_FILES + name, join(pose, name)] as const),
  ...[
    join(weights, 'models/movenet-lightning.json'),
    join(weights, 'models/movenet-lightning.bin'),
    join(weights, 'LICENSE'),
    join(runtime, 'tfjs-backend-wasm.wasm'),
    join(runtime, 'tfjs-backend-wasm-simd.wasm'),
  ].map((path) => [QUICK_FILES + basename(path), path] as const),
])

export function poseFiles(): Plugin {
  return {
    name: 'pose-files',
    generateBundle() {
      for (const [name, path] of files) this.emitFile({ type: 'asset', fileName: name.slice(1), source: readFileSync(path) })
    },
    configureServer(server) {
      server.middlewares.use((request, response, next) => {
        const name = (request.url ?? '').split('?')[0]!
        const path = files.get(name)
        if (!path) return next()
        if (name.endsWith('.wasm')) response.setHeader('Content-Type', 'application/wasm')
        if (name.endsWith('.js')) response.setHeader('Content-Type', 'text/javascript')
        response.end(readFileSync(path))
      })
    },
  }
}
