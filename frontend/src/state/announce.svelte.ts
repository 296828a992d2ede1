/** Says something to those who hear the page; nothing is shown. */

class Announcer {
  text = $state('')
  #last = ''

  say(text: string): void {
    // The same words again are only read when the text differs: a no-break space makes it so.
    this.#last = text === this.#last ? `${text}\u00a0` : text
    this.text = this.#last
  }
}

export const announcer = new Announcer()
export const announce = (text: string): void => announcer.say(text)
