/** The measuring page: puts the desk, its drawing and its voice together. */

import { Announcer } from "./announcer.js";
import { BeginCard } from "./begin.js";
import { Claims } from "./claims.js";
import { instrumentOf } from "./clocks.js";
import { Deeds } from "./deeds.js";
import { Desk } from "./desk.js";
import { client, person, setPerson } from "./device.js";
import { mark, write } from "./drawing.js";
import { EntryField, keepFocus } from "./entry_field.js";
import { listen } from "./live.js";
import { Panel, switchedOn } from "./panel.js";
import { Questions } from "./question_box.js";
import { openStore } from "./queue_store.js";
import { failedWords } from "./questions.js";
import { RunningBox } from "./running_box.js";
import { Sender } from "./sender.js";
import { Showing } from "./showing.js";
import { Signs } from "./signs.js";
import { TrayDrawing } from "./tray_drawing.js";
import { failingWords } from "./trouble.js";
import { Troubles } from "./trouble_box.js";
import { pieceWords, placeParts, placeShort } from "./words.js";

const TICK_MS = 10000; // the clocks show minutes
const AGAIN_MS = 3000; // before the first state is asked for again (own choice)
const LOW_PX = 560; // a window lower than this has a keyboard on it, or is a phone on its side (own choice)

const part = (name) => document.getElementById(name);

class Page {
  /** Open the stream anew. @type {?() => void} */
  reopen = null;

  /** @param {number} test @param {string} tab @param {import("./queue_store.js").Store} store */
  constructor(test, tab, store) {
    this.test = test;
    const who = { test, client: tab, by: person };
    this.sender = new Sender(test, store, {
      changed: () => this.desk.settle(),
      replied: (entry, reply) => this.desk.replied(entry, reply),
      refused: (entry) => this.desk.refused(entry),
      failed: (entry) => this.#failed(entry),
      line: (_, why) => {
        this.showing.why = why;
        this.draw();
      },
    });
    this.claims = new Claims(
      test,
      tab,
      person,
      () => this.desk.settle(),
      (place) => this.desk.refusedPlace(place),
    );
    this.desk = new Desk(who, this.sender, this.claims, {
      changed: () => this.draw(),
      kept: (reading, reply) => this.#kept(reading, reply),
      asked: (question) => this.#asked(question),
      lost: (place, how) => this.#lost(place, how),
      told: (words, more) => this.#told(words, more),
      anew: () => this.reopen?.(),
      typing: () => !this.field.empty || this.field.choosing,
    });
    this.deeds = new Deeds(this.desk);
    this.desk.safe = store.safety === "kept";
    this.announcer = new Announcer(part, switchedOn);
    this.#parts();
  }

  #parts() {
    const { desk, deeds } = this;
    const acts = {
      keep: (text) => {
        this.announcer.answered();
        this.showing.act = "";
        deeds.keep(text);
      },
      scanned: (number) => this.#scanned(number),
      takeBack: () => deeds.takeBack(),
      later: () => deeds.later(),
      zeroed: () => deeds.zeroed(instrumentOf(desk.view, desk.place)),
      spoiled: (reason) => deeds.spoil(desk.bench.reasons[reason]),
      leave: () => desk.answer && deeds.clear(desk.answer),
      typed: () => desk.settle(),
      choosing: (open) => {
        this.signs.choosing(open);
        if (!open) {
          desk.settle();
        }
      },
    };
    const stand = () => ({ signed: desk.quantity?.signed ?? false, reasons: desk.bench?.reasons.length ?? 0 });
    this.field = new EntryField(part("entry"), acts, stand);
    this.signs = new Signs(part, this.field, acts);
    const begin = new BeginCard(part, (by, sitting) => this.#begin(by, sitting));
    this.panel = new Panel(this.test, part, this.#panelActs());
    this.showing = new Showing(part, desk, {
      signs: this.signs,
      begin,
      panel: this.panel,
      tray: new TrayDrawing(part("tray"), (piece) => this.#taken(piece)),
      questions: new Questions(part, desk, deeds, () => this.focus()),
      troubles: new Troubles(part, desk, deeds, () => this.focus()),
      running: new RunningBox(part, () => switchedOn("running")),
      check: (piece) => this.#check(piece),
      rename: (name) => {
        this.#rename(name);
        this.focus();
      },
      takeBack: () => {
        deeds.takeBack();
        this.focus();
      },
    });
    keepFocus(part("entry"), (heard) => mark(part("hand"), "data-deaf", !heard));
    part("panel").addEventListener("toggle", () => part("panel").open || this.focus());
  }

  #panelActs() {
    const { deeds } = this;
    return {
      note: (kind, more) => {
        deeds.note(kind, more);
        this.panel.tell(`noted: ${kind}${more.value === undefined ? "" : ` ${more.value}`}`);
        this.focus();
      },
      again: (body) => {
        deeds.again(body);
        this.panel.tell("asked for; it comes when the others are read");
        this.focus();
      },
      goTo: (ball) => this.#taken({ ball, reference: null }),
      rename: (name) => name && this.#rename(name),
      paper: (paper) => {
        deeds.change(paper ? "paper" : "bench");
        this.panel.tell(paper ? "a sitting of typing from paper was begun" : "a sitting at the bench was begun");
      },
      checkNow: () => this.#checkNow(),
      endSitting: () => deeds.end(),
      switched: () => this.draw(),
    };
  }

  /** Take up what was left here, fetch, and listen. */
  async start() {
    await this.sender.begin();
    while (!(await this.desk.fetch())) {
      this.draw();
      await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
    }
    this.focus();
    this.reopen = listen(this.test, {
      reached: () => this.desk.bench.reached,
      change: (change) => this.desk.take(change, true),
      claims: (held) => this.claims.heard(held),
      line: (down) => (down ? this.desk.fetch() : this.#back()),
    });
    setInterval(() => this.draw(), TICK_MS);
  }

  /** The stream is open: what waits is sent, and the place in hand is claimed again. */
  #back() {
    const { down, own, entries } = this.sender;
    this.sender.line(false);
    this.sender.wake();
    this.claims.renew();
    if (down || own.length < entries.length) {
      this.desk.fetch(); // another notebook may be open now, or a copy of this one
    }
  }

  draw() {
    this.showing.draw();
  }

  focus() {
    if (!part("desk").hidden) {
      part("entry").focus({ preventScroll: true });
    }
  }

  #begin(by, sitting) {
    setPerson(by);
    if (sitting && !this.desk.view.sitting) {
      this.deeds.begin(sitting);
    }
    this.desk.settle();
    scrollTo(0, 0); // the card that was filled in stood lower than the desk in its place
    this.focus();
  }

  #rename(name) {
    setPerson(name);
    this.panel.tell(`${name} is measuring`);
    this.desk.settle();
  }

  #taken(piece) {
    const { desk } = this;
    if (!desk.goTo(piece) && this.field.empty) {
      const whose = { ball: piece.ball, reference: piece.reference };
      this.announcer.tell(`${pieceWords(desk.view, whose)} has nothing open here`);
      write(part("why"), `${pieceWords(desk.view, whose)} has nothing open here. To read it again: Bench, below.`);
      part("why").hidden = false;
    }
    this.focus();
  }

  /** Take the ball in hand whose label was scanned. */
  #scanned(number) {
    const ball = [...this.desk.view.bench.balls.values()].find((one) => one.number === number);
    if (ball) {
      this.#taken({ ball: ball.id, reference: null });
    } else {
      this.announcer.tell(`no ball ${number} in this test`);
      write(part("why"), `The label says ball ${number}, and this test has no such ball.`);
      part("why").hidden = false;
    }
  }

  #checkNow() {
    const { desk } = this;
    const instrument = instrumentOf(desk.view, desk.place);
    const pieces = [...desk.view.bench.references.values()];
    const piece = pieces.find((one) => one.instrument === instrument) ?? pieces[0];
    if (piece) {
      this.#check(piece);
    }
  }

  #check(piece) {
    this.desk.checkPiece(piece);
    this.focus();
    part("desk").scrollIntoView({ block: "nearest" });
  }

  #kept(reading, reply) {
    const { desk } = this;
    const next = desk.place ? `Next: ${placeParts(desk.view, desk.place).join(" · ")}.` : "";
    this.announcer.kept(desk.view, reading, next);
    const others = [...new Set((reply.also ?? []).map((one) => one.by))];
    if (others.length > 0 && reading.ball !== null) {
      const words = `${others.join(" and ")} read this place too; both readings are kept.`;
      this.#acted(words);
      this.announcer.tell(words);
    }
    if (reply.check && !reply.check.passed) {
      this.announcer.ask(failedWords(desk.view, reply.check));
    } else if (reply.check) {
      this.announcer.tell(`${reply.check.instrument} checked: good`);
    }
  }

  /** Told once for each act; what stands there stays as long as it is tried. */
  #failed(entry) {
    this.desk.settle();
    if (entry.trouble.times === 1 && this.desk.view) {
      this.announcer.tell(failingWords(this.desk.view, entry).head);
    }
  }

  /** What was done stands before the last readings until the next is typed. */
  #acted(words) {
    this.showing.act = words;
    this.draw();
  }

  /** A question about another place than the one in hand names its place. */
  #asked({ place, head, more }) {
    const { desk } = this;
    const seen = place === desk.hand.place ? null : desk.view.placeById.get(place);
    const words = seen ? `${placeShort(desk.view, seen)}: ${head}` : head;
    this.announcer.ask(`${words} ${more}`, words);
  }

  /** The place that was asked for so far is another now, and not by an act of the person here. */
  #lost(place, how) {
    const words = `${placeParts(this.desk.view, place).slice(0, 2).join(" · ")} ${how}`;
    this.#acted(words);
    this.announcer.ask(words);
  }

  #told(words, { back, later } = {}) {
    const { view } = this.desk;
    this.#acted(words);
    if (back) {
      this.announcer.back(view, back);
    } else if (later) {
      this.announcer.tell([`later: ${placeParts(view, later).join(" · ")}`, words].filter(Boolean).join("; "));
    } else {
      this.announcer.tell(words);
    }
  }
}

/** A window with a keyboard over half of it, or a phone on its side, gets the low arrangement. */
function watchHeight() {
  const view = globalThis.visualViewport;
  const height = () => (view ? view.height * view.scale : innerHeight); // the same however far it is zoomed
  const fit = () => {
    const was = document.documentElement.classList.contains("low");
    const low = document.documentElement.classList.toggle("low", height() < LOW_PX);
    if (low && !was && document.activeElement === part("entry")) {
      scrollTo(0, 0); // the browser scrolled to where the entry stood in the high arrangement
    }
  };
  (view ?? globalThis).addEventListener("resize", fit);
  fit();
}

watchHeight();
const page = new Page(Number(part("bench").dataset.test), await client(), await openStore(Number(part("bench").dataset.test)));
await page.start();
