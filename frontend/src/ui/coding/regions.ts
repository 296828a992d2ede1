/** How the keyboard gets about on the coding page: Tab goes through the groups, so that leaving them needs keys too. */

/** Whether the keyboard is where Tab goes through the groups: nowhere in particular, or on the groups and terms. */
export function onTerms(target: EventTarget | null): boolean {
  if (!(target instanceof Element)) return true
  return target === document.body || target.tagName === 'MAIN' || target.closest('[data-walk]') !== null
}

const reachable = 'button:not(:disabled, [tabindex="-1"]), a[href]:not([tabindex="-1"]), input:not(:disabled), [tabindex="0"]'

/** Moves focus to the first control of the next region, round; false when there is none. */
export function leave(root: HTMLElement | undefined, by: 1 | -1): boolean {
  const regions = [...(root?.querySelectorAll<HTMLElement>('[data-region]') ?? [])]
  const at = regions.findIndex((r) => r.contains(document.activeElement))
  for (let n = 1; n <= regions.length; n++) {
    const region = regions[(at + (at < 0 && by < 0 ? 0 : by * n) + regions.length * 2) % regions.length]
    const first = region?.querySelector<HTMLElement>(reachable)
    if (first) {
      first.focus()
      return true
    }
  }
  return false
}
