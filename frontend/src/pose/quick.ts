/**
 * The model that follows a body through a clip: MoveNet Lightning, 17 points, no heels or toes, run by WebAssembly alone,
 * so that it needs no WebGL. Runs in the frame only.
 */
import { setWasmPaths } from '@tensorflow/tfjs-backend-wasm'
import { loadGraphModel } from '@tensorflow/tfjs-converter'
import { ready, setBackend, tensor4d, type Tensor } from '@tensorflow/tfjs-core'
import type { Look } from './frame'
import type { Landmark } from './landmarks'

declare const __QUICK_FILES__: string

/** The model takes squares of so many pixels. */
const SIDE = 192
const POINTS = 17

export async function open(): Promise<Look> {
  setWasmPaths(__QUICK_FILES__)
  if (!(await setBackend('wasm'))) throw new Error('WebAssembly does not run here')
  await ready()
  const model = await loadGraphModel(__QUICK_FILES__ + 'movenet-lightning.json')
  const canvas = new OffscreenCanvas(SIDE, SIDE)
  const pen = canvas.getContext('2d', { willReadFrequently: true })!
  return async (picture) => {
    // What lies beyond the picture's edge is empty; it shall be black, not what was there before.
    pen.clearRect(0, 0, SIDE, SIDE)
    pen.drawImage(picture, 0, 0, SIDE, SIDE)
    const { data } = pen.getImageData(0, 0, SIDE, SIDE)
    const colours = new Int32Array(SIDE * SIDE * 3)
    for (let from = 0, to = 0; from < data.length; from += 4, to += 3) {
      colours[to] = data[from]!
      colours[to + 1] = data[from + 1]!
      colours[to + 2] = data[from + 2]!
    }
    const input = tensor4d(colours, [1, SIDE, SIDE, 3], 'int32')
    const output = model.execute(input) as Tensor
    const out = await output.data()
    output.dispose()
    input.dispose()
    return Array.from({ length: POINTS }, (_, i): Landmark => ({ x: out[3 * i + 1]!, y: out[3 * i]!, seen: out[3 * i + 2]! }))
  }
}
