/** What carries the bytes of one file to the server. The queue knows no more of it than this. */

export interface Cargo {
  file: File
  session: number
  camera: string
  /** An upload of the server's to go on with, by its id in the protocol; '' to look for one or begin anew. */
  tusId: string
}

export interface CarrierEvents {
  /** The server has given the upload an address. */
  onAddress: (tusId: string) => void
  /** So many bytes have been handed over. */
  onProgress: (sent: number) => void
  onDone: () => void
  /** It stopped. `passing`: worth another try without a change. */
  onStop: (words: string, passing: boolean) => void
}

export interface Carrier {
  /** Begins, or goes on where the server says it is. */
  start(): void
  /** Stops and keeps what has arrived. */
  pause(): Promise<void>
  /** Stops and has the server forget what has arrived. */
  discard(): Promise<void>
}

export type MakeCarrier = (cargo: Cargo, events: CarrierEvents) => Carrier
