/** The bench as the server told it, and which submissions are in it already. */

/**
 * @typedef {object} Bench
 * @property {import("./records.js").BallTest} test
 * @property {?import("./records.js").Sitting} sitting
 * @property {Map<number, import("./records.js").Ball>} balls
 * @property {Map<number, import("./records.js").ReferencePiece>} references
 * @property {Map<number, import("./records.js").Place>} places
 * @property {Map<number, import("./records.js").Reading>} readings
 * @property {Map<string, import("./records.js").Question>} questions
 * @property {import("./records.js").Check[]} checks
 * @property {string[]} reasons
 * @property {?string} notebook which one it is from
 * @property {number} reached everything up to this revision is in
 * @property {Set<number>} ahead revisions beyond it that are in too
 * @property {Map<string, number>} written revision that wrote a record last
 */

const byId = (records) => new Map(records.map((record) => [record.id, record]));

/**
 * Begin with a whole state.
 * @param {import("./records.js").BenchState} state
 * @returns {Bench}
 */
export function benchFrom(state) {
  return {
    test: state.test,
    sitting: state.sitting,
    balls: byId(state.balls),
    references: byId(state.references),
    places: byId(state.places),
    readings: byId(state.readings),
    questions: new Map(state.questions.map((question) => [question.key, question])),
    checks: state.checks,
    reasons: state.reasons,
    notebook: state.notebook ?? null,
    reached: state.revision,
    ahead: new Set(),
    written: new Map(),
  };
}

/** Whether a submission is in already. */
export const isIn = (bench, revision) => revision <= bench.reached || bench.ahead.has(revision);

/** Whether a reading still stands. */
export const stands = (reading) => reading.standing === "kept" || reading.standing === "corrected";

/**
 * Put one submission in; the same one again changes nothing, and an older one never hides a newer one.
 * @param {Bench} bench
 * @param {import("./records.js").Change} change
 * @param {boolean} [inTurn] true: everything before it was told already
 * @returns {Bench}
 */
export function apply(bench, change, inTurn = false) {
  const known = isIn(bench, change.revision);
  const next = known ? { ...bench } : withReply(bench, change);
  next.ahead = new Set(bench.ahead).add(change.revision);
  if (inTurn) {
    next.reached = Math.max(bench.reached, change.revision);
  }
  next.ahead.forEach((revision) => revision <= next.reached && next.ahead.delete(revision));
  return next;
}

/**
 * Whether a submission changes more than its reply tells, so that the whole state is to be fetched.
 * @param {import("./records.js").Change} change
 */
export function needsWhole({ reply }) {
  const told = ["reading", "question", "place", "balls", "sitting"].some((part) => reply[part]);
  return !told || Boolean(reply.check);
}

function withReply(bench, { revision, reply }) {
  const next = {
    ...bench,
    balls: new Map(bench.balls),
    places: new Map(bench.places),
    readings: new Map(bench.readings),
    questions: new Map(bench.questions),
    written: new Map(bench.written),
  };
  const readings = [reply.reading, ...(reply.also ?? [])].filter(Boolean);
  readings.forEach((reading) => put(next, "readings", reading, revision));
  (reply.balls ?? []).forEach((ball) => put(next, "balls", ball, revision));
  if (reply.place) {
    put(next, "places", reply.place, revision);
  }
  if (reply.check && !bench.checks.some((check) => check.id === reply.check.id)) {
    next.checks = [...bench.checks, reply.check].sort((one, other) => one.id - other.id);
  }
  if (reply.sitting) {
    putSitting(next, reply.sitting, revision);
  }
  putQuestion(next, reply);
  return next;
}

/** Put a record in unless a later submission wrote it already. */
function put(bench, table, record, revision) {
  const name = `${table} ${record.id}`;
  if ((bench.written.get(name) ?? 0) <= revision) {
    bench[table].set(record.id, record);
    bench.written.set(name, revision);
  }
}

function putSitting(bench, sitting, revision) {
  if ((bench.written.get("sitting") ?? 0) > revision) {
    return;
  }
  bench.written.set("sitting", revision);
  if (!sitting.ended) {
    bench.sitting = sitting;
  } else if (bench.sitting && bench.sitting.id === sitting.id) {
    bench.sitting = null;
  }
}

/** A question is open until its place is read, or an attempt there is spoiled or asked about anew. */
function putQuestion(bench, reply) {
  const answered = reply.question?.place ?? (reply.status === "spoiled" ? reply.place?.id : null);
  const read = reply.status === "kept" ? reply.reading?.place : null;
  for (const [key, question] of bench.questions) {
    if (question.place === answered || question.place === read) {
      bench.questions.delete(key);
    }
  }
  if (reply.question) {
    bench.questions.set(reply.question.key, reply.question);
  }
}
