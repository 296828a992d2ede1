/** Whether measures stand over clips: one choice for all pages, kept in the browser. */
const KEPT = 'netreel.measures'

class MeasuresShown {
  on = $state(localStorage.getItem(KEPT) !== 'off')

  toggle(): void {
    this.on = !this.on
    localStorage.setItem(KEPT, this.on ? 'on' : 'off')
  }
}

export const measuresShown = new MeasuresShown()
