/** One question at a time before something is lost for good. Shown by ui/Confirm.svelte. */

export interface Question {
  title: string
  text: string
  /** What the button that goes ahead says: "Delete the recording". */
  yes: string
  no?: string
  danger?: boolean
}

class Confirmation {
  #question = $state.raw<Question | null>(null)
  #answer: ((yes: boolean) => void) | null = null

  get question(): Question | null {
    return this.#question
  }

  /** Resolves to whether the person goes ahead. A second question answers the first with no. */
  ask(q: Question): Promise<boolean> {
    this.answer(false)
    this.#question = q
    return new Promise((resolve) => (this.#answer = resolve))
  }

  answer(yes: boolean): void {
    const answer = this.#answer
    this.#answer = null
    this.#question = null
    answer?.(yes)
  }
}

export const confirmation = new Confirmation()
export const ask = (q: Question): Promise<boolean> => confirmation.ask(q)
