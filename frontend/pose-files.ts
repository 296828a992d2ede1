/**
 * The pose model's files, out of its npm package into the built page: weights and runtime are served by our own server
 * and nothing is fetched from elsewhere. Their folder bears the package's version, so that they never change.
 */
import { createRequire } from 'node:module'
import { readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import type { Plugin } from 'vite'

const home = dirname(createRequire(import.meta.url).resolve('@mediapipe/pose/package.json'))
const { version } = JSON.parse(readFileSync(join(home, 'package.json'), 'utf8')) as { version: string }

/** Where the files are served. */
export const POSE_FILES = `/assets/pose-${version}/`

// Every browser that runs the page knows the SIMD build. package.json says who made it and on what terms.
const names = [
  'pose.js',
  'pose_web.binarypb',
  'pose_landmark_full.tflite',
  'pose_solution_packed_assets.data',
  'pose_solution_packed_assets_loader.js',
  'pose_solution_simd_wasm_bin.js',
  'pose_solution_simd_wasm_bin.wasm',
  'package.json',
  'README.md',
]

export function poseFiles(): Plugin {
  return {
    name: 'pose-files',
    generateBundle() {
      for (const name of names) {
        this.emitFile({ type: 'asset', fileName: POSE_FILES.slice(1) + name, source: readFileSync(join(home, name)) })
      }
    },
    configureServer(server) {
      server.middlewares.use(POSE_FILES, (request, response, next) => {
        const name = (request.url ?? '').split('?')[0]!.slice(1)
        if (!names.includes(name)) return next()
        if (name.endsWith('.wasm')) response.setHeader('Content-Type', 'application/wasm')
        if (name.endsWith('.js')) response.setHeader('Content-Type', 'text/javascript')
        response.end(readFileSync(join(home, name)))
      })
    },
  }
}
