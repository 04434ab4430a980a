/**
 * What the server sends, as types alone: the records of a test and of its bench, field by field.
 *
 * @typedef {object} Ball
 * @property {number} id
 * @property {string} number what is written on it for this test
 * @property {string} label
 * @property {?string} make null while a blind test is under way
 * @property {?string} box
 * @property {?number} impacts null: not known
 * @property {?string} conditioning_since ISO 8601
 * @property {?number} conditioned_h
 *
 * @typedef {object} PlannedQuantity
 * @property {string} name
 * @property {string} words
 * @property {string} unit "1": a pure number
 * @property {string[]} axes [""] where it has none
 * @property {number} repeats
 * @property {string} instrument
 * @property {boolean} yes_no
 * @property {boolean} signed
 * @property {number} rank
 * @property {number} decimals
 * @property {?[number, number]} believable
 * @property {[?number, ?number]} limits
 * @property {string} caution
 *
 * @typedef {object} ReferencePiece
 * @property {number} id
 * @property {string} name
 * @property {string} quantity
 * @property {string} unit
 * @property {number} value
 * @property {number} u
 * @property {string} instrument
 *
 * @typedef {object} Sitting
 * @property {number} id
 * @property {string} label
 * @property {"bench"|"paper"} kind
 * @property {string[]} by
 * @property {string} begun
 * @property {?string} ended
 * @property {?number} air_c
 * @property {?number} ball_c
 *
 * @typedef {object} BallTest
 * @property {number} id
 * @property {string} title
 * @property {boolean} blind
 * @property {""|"repeat study"} [purpose] a repeat study says how well an instrument reads
 * @property {"set up"|"under way"|"finished"} stage
 * @property {boolean} invented
 * @property {PlannedQuantity[]} quantities
 *
 * @typedef {object} Place one reading to take
 * @property {number} id
 * @property {?number} ball
 * @property {?number} reference
 * @property {string} quantity
 * @property {string} axis
 * @property {number} repeat
 * @property {number} order
 * @property {number} sheet_order
 * @property {number} put_off
 * @property {boolean} filled
 * @property {number} spoiled
 * @property {string} why why it was asked for again; empty for a place of the plan
 * @property {string} [person] who is to read it, in a repeat study; empty: anybody
 *
 * @typedef {object} Reading
 * @property {number} id
 * @property {number} place
 * @property {?number} ball
 * @property {?number} reference
 * @property {string} quantity
 * @property {string} axis
 * @property {number} repeat
 * @property {string} text
 * @property {?number} value
 * @property {?boolean} answer
 * @property {string} unit
 * @property {number} sitting
 * @property {string} by
 * @property {string} at
 * @property {"kept"|"taken back"|"excluded"|"corrected"} standing
 * @property {?number} corrected
 * @property {string} [corrected_text]
 * @property {string} reason
 * @property {boolean} confirmed
 * @property {boolean} touched
 *
 * @typedef {object} Question an entry that was asked about; it is no reading yet
 * @property {string} key
 * @property {number} place
 * @property {string} text
 * @property {string} why
 * @property {string} by
 * @property {string} at
 *
 * @typedef {object} Check
 * @property {number} id
 * @property {number} reading
 * @property {string} reference
 * @property {string} instrument
 * @property {number} value
 * @property {number} known
 * @property {number} allowed
 * @property {string} unit
 * @property {boolean} passed
 * @property {number} touched
 * @property {string} at
 *
 * @typedef {object} BenchState
 * @property {BallTest} test
 * @property {?Sitting} sitting
 * @property {number} revision
 * @property {Ball[]} balls
 * @property {ReferencePiece[]} references
 * @property {Place[]} places
 * @property {Reading[]} readings
 * @property {Question[]} questions
 * @property {Check[]} checks
 * @property {string[]} reasons
 * @property {string} [notebook] which one is open
 *
 * @typedef {object} Change
 * @property {number} revision
 * @property {string} [kind]
 * @property {string} [client]
 * @property {object} reply
 *
 * @typedef {object} Fault
 * @property {string} where
 * @property {string} found
 * @property {string} allowed
 * @property {string} todo
 *
 * @typedef {object} Entry something to be sent; it stays in the queue until the server has it
 * @property {string} key
 * @property {number} seq order in which it is sent
 * @property {number} test
 * @property {string} act last part of the address: "readings", "taken-back", "later", ...
 * @property {object} body what is sent
 * @property {?string} of key of the entry that must be answered first
 * @property {"waiting"|"held"|"refused"|"aside"} state held: asked about here, not sent yet; refused: to be answered;
 *   aside: sent only when a person says so
 * @property {boolean} [piece] a reading of a reference piece: what is read before and after it matters
 * @property {?{times: number, status: number, title: string, until: number}} [trouble] the server could not keep it so
 *   many times, and said why; it is tried again at `until`, ms
 * @property {Fault[]} faults why it was refused
 * @property {number} [status] of the answer that refused it
 * @property {?string} [notebook] for which it was made
 */

export {};
