/**
 * Keyboard shortcuts as a stack of scopes: the newest scope sees a key first; a modal one (a dialog) hides all under
 * it. Nothing fires while somebody types in a field. A key is named by the modifiers and `KeyboardEvent.key`:
 * "a", "Shift+a", "Ctrl+z" (Cmd on a Mac), "ArrowLeft", "Space", "?", "[".
 */

/** Return false to let the browser and lower scopes have the key. */
export type KeyHandler = (e: KeyboardEvent) => void | boolean

export interface Scope {
  keys?: Record<string, KeyHandler>
  /** Sees keys that `keys` does not name. Return true when the key was used. */
  other?: (name: string, e: KeyboardEvent) => boolean
  modal?: boolean
}

const stack: Scope[] = []

/** Puts a scope on the stack until the returned function is called: `$effect(() => keyScope({ keys: {...} }))`. */
export function keyScope(scope: Scope): () => void {
  stack.push(scope)
  return () => {
    const i = stack.lastIndexOf(scope)
    if (i >= 0) stack.splice(i, 1)
  }
}

/** What a key event needs to have for its name. */
export type KeyLike = Pick<KeyboardEvent, 'key' | 'ctrlKey' | 'metaKey' | 'altKey' | 'shiftKey'>

/** The name of a key event. Shift is named only where it does not change the character by itself. */
export function keyName(e: KeyLike): string {
  const letter = e.key.length === 1 && e.key.toLowerCase() !== e.key.toUpperCase()
  const key = e.key === ' ' ? 'Space' : letter ? e.key.toLowerCase() : e.key
  const shift = e.shiftKey && (letter || e.key.length > 1 || e.key === ' ')
  return `${e.ctrlKey || e.metaKey ? 'Ctrl+' : ''}${e.altKey ? 'Alt+' : ''}${shift ? 'Shift+' : ''}${key}`
}

const TEXTLESS = new Set(['button', 'checkbox', 'color', 'file', 'image', 'radio', 'range', 'reset', 'submit'])

function typing(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false
  if (target.isContentEditable || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement) return true
  return target instanceof HTMLInputElement && !TEXTLESS.has(target.type)
}

const OWN_KEYS: Record<string, string> = {
  Space: 'button, summary, input, [role=button], [role=switch], [role=menuitem], [role=checkbox], [role=option]',
  Enter: 'button, summary, a[href], [role=button], [role=menuitem], [role=option]',
  ArrowLeft: 'input[type=range], input[type=radio], [role=slider], [role=radio], [role=menu] *',
  ArrowRight: 'input[type=range], input[type=radio], [role=slider], [role=radio], [role=menu] *',
  ArrowUp: 'input[type=range], input[type=radio], [role=slider], [role=radio], [role=menu] *',
  ArrowDown: 'input[type=range], input[type=radio], [role=slider], [role=radio], [role=menu] *',
}

/** Whether the focused control uses this key itself (Space on a button). */
function controlsOwn(name: string, target: EventTarget | null): boolean {
  const selector = OWN_KEYS[name]
  return selector !== undefined && target instanceof Element && target.matches(selector)
}

/** Offers a key to the scopes, newest first. Exported for tests; the page calls it through startKeys. */
export function offer(name: string, e: KeyboardEvent, scopes: readonly Scope[] = stack): boolean {
  for (let i = scopes.length - 1; i >= 0; i--) {
    const scope = scopes[i]!
    const handler = scope.keys?.[name]
    if (handler && handler(e) !== false) return true
    if (!handler && scope.other?.(name, e)) return true
    if (scope.modal) return false
  }
  return false
}

/** Starts listening for the whole page. Returns the way to stop. */
export function startKeys(): () => void {
  const down = (e: KeyboardEvent) => {
    if (e.defaultPrevented || e.isComposing || typing(e.target)) return
    const name = keyName(e)
    if (controlsOwn(name, e.target)) return
    if (offer(name, e)) e.preventDefault()
  }
  document.addEventListener('keydown', down)
  return () => document.removeEventListener('keydown', down)
}
