/**
 * The keyboard of the coding page: which command a key stands for. Pure; the page carries commands out. `[`, `]`, `.`,
 * `,`, `/`, `?`, `-` and Space are never a term's key: the vocabulary keeps them free.
 */

export type Command =
  | { do: 'toggle' | 'contact' | 'loop' | 'undo' | 'note' | 'draw' | 'keys' | 'accept' | 'escape' | 'region' | 'regionBack' }
  | { do: 'step' | 'speed' | 'ball' | 'group'; by: 1 | -1 }
  /** Opens the group with this letter. */
  | { do: 'open'; press: string }
  /** A term's key: put it, or begin and end a span of it. `or`: the digit on a key that types something else. */
  | { do: 'term'; press: string; or?: string; mark: boolean }

/** Keys that are no characters: they act even when single characters are switched off. */
const named: Record<string, Command> = {
  ArrowLeft: { do: 'step', by: -1 },
  ArrowRight: { do: 'step', by: 1 },
  ArrowUp: { do: 'speed', by: 1 },
  ArrowDown: { do: 'speed', by: -1 },
  Home: { do: 'contact' },
  PageUp: { do: 'ball', by: -1 },
  PageDown: { do: 'ball', by: 1 },
  Tab: { do: 'group', by: 1 },
  'Shift+Tab': { do: 'group', by: -1 },
  Backspace: { do: 'undo' },
  'Ctrl+z': { do: 'undo' },
  Escape: { do: 'escape' },
  F6: { do: 'region' },
  'Shift+F6': { do: 'regionBack' },
}

const characters: Record<string, Command> = {
  Space: { do: 'toggle' },
  '[': { do: 'ball', by: -1 },
  ']': { do: 'ball', by: 1 },
  '/': { do: 'note' },
  '.': { do: 'draw' },
  ',': { do: 'loop' },
  '?': { do: 'keys' },
  '-': { do: 'accept' },
}

/** `name` is keyName(e). `code` tells Shift+1 by the key itself: its character depends on the layout. */
export function commandOf(name: string, e: Pick<KeyboardEvent, 'code' | 'shiftKey'>, single: boolean): Command | null {
  const command = named[name] ?? (single ? characters[name] : undefined)
  if (command) return command
  if (!single || name.startsWith('Ctrl+') || name.startsWith('Alt+')) return null
  const digit = /^(?:Digit|Numpad)(\d)$/.exec(e.code)?.[1]
  // On some layouts a digit itself needs Shift.
  if (e.shiftKey && digit && name !== digit) return { do: 'term', press: digit, mark: true }
  const letter = /^Shift\+(.)$/u.exec(name)?.[1]
  if (letter) return { do: 'open', press: letter }
  if ([...name].length !== 1) return null
  return { do: 'term', press: name, mark: false, ...(digit && name !== digit ? { or: digit } : {}) }
}
