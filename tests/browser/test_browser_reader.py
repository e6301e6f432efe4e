"""The reader in a real browser does what an observer needs of it, by every way a hand has to it."""

from __future__ import annotations

import base64
import json
import re
from io import BytesIO
from itertools import pairwise

import pytest
from browser_kit import ON_ITS_SIDE, PHONE, SMALL, TABLET, TOUCH, WALL, Hands, program, told
from pypdf import PdfReader

from docgen.browser import Browser
from docgen.readback.walk import walk
from docgen.tally import read_record

FLAGSHIP = "enhanced-removal"
SPY = """
window.calls = [];
const note = (name) => (...given) => { window.calls.push([name, ...given.map((one) => one.text ?? one)]); };
Object.defineProperty(navigator, "wakeLock", {value: {request: async (what) => note("awake")(what)}});
window.AudioContext = class { constructor() { note("sound")(); throw new Error("silent"); } };
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
const voices = [{lang: "en-GB"}];
Object.defineProperty(window, "speechSynthesis", {value: {
  cancel() {}, speak: note("speak"), getVoices: () => voices, addEventListener() {},
}});
"""
"""What the page asks of the device is noted instead of done; there is an English voice."""


@pytest.fixture(scope="module")
def browser():
    with Browser(program()) as running:
        yield running


@pytest.fixture(scope="module")
def english(tmp_path_factory):
    return laid(tmp_path_factory.mktemp("en"), FLAGSHIP, "en")


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    return laid(tmp_path_factory.mktemp("both"), FLAGSHIP, "en", "ar")


def laid(folder, *of):
    file = folder / "reader.html"
    file.write_bytes(told(*of)[0])
    return file


@pytest.fixture
def hands(browser, english):
    return Hands(browser, english, SPY)


@pytest.fixture(scope="module")
def edition():
    return told(FLAGSHIP, "en")[1][0]


def ids(edition):
    return [step.id for step in edition.steps]


def free(edition):
    """Two steps in a row without a stop."""
    return next((a.id, b.id) for a, b in pairwise(edition.steps) if not a.hold and not b.hold)


# --- one step at a time -------------------------------------------------------------------------------------------


def test_one_step_at_a_time(hands, edition):
    """Of all steps, only the one that it is at can be seen."""
    for step in edition.steps[:3]:
        hands.to(step.id)
        assert hands.ask("[...document.querySelectorAll('.view')].filter((el) => el.checkVisibility()).length") == 1
        assert hands.shown(".headline") == [step.headline.plain]


def test_cautions_come_first_then_what_is_said(hands, edition):
    """Caution, headline, SAY, answer, then everything that is not spoken, from top to bottom; SAY is the largest."""
    step = next(s for s in edition.steps if s.cautions and s.say and s.answer and s.watch and s.done_when)
    hands.to(step.id)

    order = (".caution", ".headline", ".say", ".answer", ".words")
    tops = [hands.boxes(f".view.now {selector}")[0][1] for selector in order]
    assert tops == sorted(tops)
    sizes = hands.ask(
        "Object.fromEntries([...document.querySelectorAll('.view.now *')].filter((el) => el.checkVisibility())"
        ".map((el) => [el.className, parseFloat(getComputedStyle(el).fontSize)]))"
    )
    assert sizes["say"] == max(sizes.values()) >= 1.7 * sizes["do"]


# --- next and back ------------------------------------------------------------------------------------------------

AHEAD = {
    "button": lambda h: h.click(".shown .next"),
    "swipe": lambda h: h.swipe(-200),
    "arrow": lambda h: h.press("ArrowRight"),
    "space": lambda h: h.press(" "),
    "enter": lambda h: h.press("Enter"),
    "pedal that pages": lambda h: h.press("PageDown"),
    "pedal that scrolls": lambda h: h.press("ArrowDown"),
}
BEHIND = {
    "button": lambda h: h.click(".shown .back"),
    "swipe": lambda h: h.swipe(200),
    "arrow": lambda h: h.press("ArrowLeft"),
    "space with shift": lambda h: h.press(" ", shift=True),
    "pedal that pages": lambda h: h.press("PageUp"),
    "pedal that scrolls": lambda h: h.press("ArrowUp"),
}


@pytest.mark.parametrize("way", AHEAD)
def test_every_way_ahead(hands, edition, way):
    """From the end of what is shown, each goes on by exactly one step."""
    here, there = free(edition)
    hands.to(here)
    hands.down()
    AHEAD[way](hands)

    assert hands.place == there


@pytest.mark.parametrize("way", BEHIND)
def test_every_way_back(hands, edition, way):
    """Each goes back by exactly one step."""
    here, there = free(edition)
    hands.to(there)
    BEHIND[way](hands)

    assert hands.place == here


@pytest.mark.parametrize("way", AHEAD)
def test_nothing_is_skipped_that_was_not_seen(hands, edition, way):
    """On a screen that is too small for the step, the way on leads through the rest of the step."""
    here, _ = free(edition)
    hands.screen(SMALL)
    hands.to(here)
    AHEAD[way](hands)

    assert hands.place == here


def test_a_tremor_is_no_swipe(hands, edition):
    """A short tremor does not turn the page."""
    here, _ = free(edition)
    hands.to(here)
    hands.down()
    hands.swipe(-40)

    assert hands.place == here


def test_a_walk_with_the_tab_key_alone(hands, edition):
    """Everything on a step can be reached and pressed without a mouse, in the order in which it is seen."""
    here, there = free(edition)
    hands.to(there)
    pressable = "[...document.querySelectorAll('.shown :is(button, a)')].filter((el) => el.checkVisibility())"
    wanted = hands.ask(f"{pressable}.length")
    reached = []
    for _ in range(wanted + 1):  # one of the places is the browser's own
        hands.press("Tab")
        reached.append(hands.ask(f"{pressable}.indexOf(document.activeElement)"))
    first = reached.index(0)
    assert [at for at in reached[first:] + reached[:first] if at >= 0] == list(range(wanted))

    while not hands.ask("document.activeElement.matches('.back')"):
        hands.press("Tab")
    hands.press("Enter")
    assert hands.place == here


# --- stops --------------------------------------------------------------------------------------------------------


@pytest.fixture
def held(edition):
    return next(s for s in edition.steps if s.hold)


@pytest.mark.parametrize("way", AHEAD)
def test_a_stop_holds_until_it_is_confirmed(hands, held, way):
    """No way ahead passes it, it says why, and only the confirmation opens it."""
    hands.to(held.id)
    hands.down()
    AHEAD[way](hands)
    assert hands.place == held.id
    assert hands.shown(".say-aloud")[0]

    hands.ask("new Promise((done) => setTimeout(done, 650))")
    assert hands.on() != held.id


def test_the_press_that_came_up_to_a_stop_does_not_confirm_it(hands, held):
    """Two quick presses of a pedal leave the stop as it was."""
    hands.to(held.id)
    hands.down()
    for _ in range(2):
        hands.press("Enter")

    assert hands.place == held.id
    assert hands.shown(".view.now .confirm[aria-pressed=false]")


def test_nobody_jumps_over_a_stop(hands, edition, held):
    """In the overview, what follows an unconfirmed stop can't be chosen."""
    hands.click(".shown .steps")
    free = hands.ask("[...document.querySelectorAll('.shown .to')].filter((b) => !b.disabled).map((b) => b.dataset.to)")

    assert free == ids(edition)[: ids(edition).index(held.id) + 1]


# --- timers -------------------------------------------------------------------------------------------------------


def timed(hands):
    """Go to the first step with a timer, and make its clock quick."""
    step = hands.ask("document.querySelector('.shown .timer').closest('.view').dataset.step")
    hands.to(step)
    return step


def test_a_timer_counts_down_in_sight_and_in_silence(hands):
    """Large and running, then at nought it says so in words; no sound is made."""
    timed(hands)
    before = hands.shown(".view.now .clock")[0]
    size = "parseFloat(getComputedStyle(document.querySelector('.view.now .clock')).fontSize)"
    small = hands.ask(size)
    hands.ask("document.querySelector('.view.now .timer').dataset.seconds = 2")
    hands.click(".view.now .timer")
    hands.ask("new Promise((done) => setTimeout(done, 300))")
    during = hands.shown(".view.now .clock")[0]
    assert re.fullmatch(r"\d:\d\d", before) and during == "0:02"
    assert hands.ask(size) > 1.5 * small

    hands.ask("new Promise((done) => setTimeout(done, 2200))")

    assert hands.shown(".view.now .clock") == ["0:00"]
    assert hands.shown(".say-aloud") == ["Time is up"]
    assert ["sound"] not in hands.ask("calls")


def test_sound_is_made_only_when_asked_for(hands):
    """Off at first; switched on, the end of a timer is heard."""
    hands.click(".shown .steps")
    assert (
        hands.ask("document.querySelector('.shown .switch[data-switch=sound]').getAttribute('aria-pressed')") == "false"
    )
    hands.click(".switch[data-switch=sound]")
    hands.click(".close")
    timed(hands)
    hands.ask("document.querySelector('.view.now .timer').dataset.seconds = 0.1")
    hands.click(".view.now .timer")
    hands.ask("new Promise((done) => setTimeout(done, 400))")

    assert ["sound"] in hands.ask("calls")


def test_a_timer_stops_when_one_goes_on(hands):
    """No clock runs behind another step."""
    step = timed(hands)
    hands.click(".view.now .timer")
    assert hands.on() != step
    hands.click(".shown .back")

    assert hands.shown(".view.now .timer .word") == ["Start the timer"]


# --- branches -----------------------------------------------------------------------------------------------------


def test_a_torn_glove_found_twice_returns_to_where_it_was_found(hands, edition):
    """From two different steps, each time back to where the branch says: the same step, or the one it names."""
    torn = next(b for b in edition.branches if b.rejoin)
    for step in [s for s in edition.steps if torn.id in s.branches][:2]:
        hands.to(step.id)
        assert hands.branch(torn.id) == torn.steps[0].id
        for after in torn.steps:
            assert hands.place == after.id
            hands.on()
        assert hands.place == (step.id if torn.rejoin == "same" else torn.rejoin)


def test_back_from_a_branch_is_where_it_was_taken(hands, edition):
    """Taken by mistake, one press undoes it."""
    torn = next(b for b in edition.branches if b.rejoin)
    at = next(s for s in edition.steps if torn.id in s.branches)
    hands.to(at.id)
    hands.branch(torn.id)
    hands.click(".shown .back")

    assert hands.place == at.id


@pytest.mark.parametrize("protocol", ["hand-rub", "everyday-removal"])
def test_the_walk_of_verify_finds_nothing(browser, tmp_path, protocol):
    """The read-back's own walk, down every path: nothing hidden, nothing lost, nothing asked of the network."""
    file = laid(tmp_path, protocol, "en")
    of = told(protocol, "en")[1][0]

    assert walk(browser.tab(), browser.tab(), file.as_uri(), of, "reader.html") == ()


def test_the_walk_of_verify_sees_a_wrong_way(browser, tmp_path):
    """The same walk over a reader whose program skips a step says so."""
    data, (of,) = told("hand-rub", "en")
    damaged = data.replace(b"main.indexOf(it.step) + 1]", b"main.indexOf(it.step) + 2]")
    assert damaged != data
    policy = re.sub(rb"script-src 'sha256-[^']*'", b"script-src 'unsafe-inline'", damaged)
    (tmp_path / "reader.html").write_bytes(policy)
    said = walk(browser.tab(), browser.tab(), (tmp_path / "reader.html").as_uri(), of, "reader.html")

    assert "readback/reader-path" in {f.rule for f in said}


# --- overview, memory ---------------------------------------------------------------------------------------------


def test_the_overview_has_phases_and_steps_and_leads_there(hands, edition):
    """Every phase by its title, every step by number and headline, the present one marked."""
    hands.to(ids(edition)[2])
    hands.click(".shown .steps")

    titles = [words.split(" ", 1)[-1] for words in hands.shown(".overview h2")]
    assert titles[: len(edition.phases)] == [phase.title.plain for phase in edition.phases]
    listed = [" ".join(words.split()) for words in hands.shown(".overview .to")]
    assert listed == [f"{s.label} {s.headline.plain}" for s in edition.steps]
    assert hands.ask("document.querySelector('.shown [aria-current=step]').dataset.to") == ids(edition)[2]
    hands.click(f'.overview .to[data-to="{ids(edition)[0]}"]')
    assert hands.place == ids(edition)[0]


def test_it_goes_on_after_loading_anew(hands, edition):
    """Place, marks and settings are as they were; in another tab it begins anew."""
    hands.to(ids(edition)[2])
    hands.click(".mark[data-mark=prompted]")
    hands.tab.reload()

    assert hands.place == ids(edition)[2]
    assert hands.shown(".mark[aria-pressed=true]") == ["Prompted"]


def test_another_tab_begins_anew(hands, browser, english, edition):
    """What one tab keeps for itself, another does not see."""
    hands.to(ids(edition)[1])

    assert Hands(browser, english).place == ""


def test_nothing_is_kept_beyond_the_tab(hands, edition):
    """No cookie, no database, no storage that outlives the tab (HTML Standard, 12.2)."""
    hands.to(ids(edition)[2])

    kept = hands.ask(
        "(async () => [localStorage.length, document.cookie, (await indexedDB.databases()).length,"
        " await (window.caches ? caches.keys().then((k) => k.length).catch(() => 0) : 0)])()"
    )
    assert kept == [0, "", 0, 0]


def test_it_asks_nothing_of_the_network(hands, edition):
    """Opened from a file, offline: no address outside it is asked for, and no error is said."""
    hands.to(ids(edition)[2])

    assert hands.address.startswith("file:")
    assert hands.tab.told() == ()


# --- the device ---------------------------------------------------------------------------------------------------


def test_the_screen_stays_awake(hands, edition):
    """From the first step on, and again on coming back to the page, which had lost the lock (W3C Screen Wake Lock)."""
    assert ["awake", "screen"] not in hands.ask("calls")
    hands.to(ids(edition)[0])
    assert hands.ask("calls").count(["awake", "screen"]) == 1

    hands.ask("document.dispatchEvent(new Event('visibilitychange'))")
    assert hands.ask("calls").count(["awake", "screen"]) == 2


def test_it_reads_aloud_only_when_asked_to(hands, edition):
    """Silent at first; switched on, it says cautions and SAY of each step in its language."""
    hands.to(ids(edition)[0])
    assert not [call for call in hands.ask("calls") if call[0] == "speak"]

    hands.click(".shown .steps")
    hands.click(".switch[data-switch=aloud]")
    hands.click(".close")
    step = edition.steps[1]
    hands.to(step.id)
    spoken = [call[1] for call in hands.ask("calls") if call[0] == "speak"]
    assert step.say.plain in spoken[-1]
    assert all(caution.hazard.plain in spoken[-1] for caution in step.cautions)


def test_without_a_voice_it_says_so(browser, both):
    """For a language that the device can't speak, the switch is off and says why."""
    hands = Hands(browser, both, SPY)
    hands.click(".shown .steps")
    hands.click(".set[data-set=language][data-value=ar]")

    assert hands.ask("document.querySelector('.shown .switch[data-switch=aloud]').disabled") is True
    assert len(hands.shown(".voiceless")) == 1


# --- how it looks -------------------------------------------------------------------------------------------------


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, relative luminance and contrast ratio, of two `rgb(…)`."""

    def light(colour):
        parts = [int(n) / 255 for n in re.findall(r"\d+", colour)[:3]]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


COLOURS = "(() => { const s = getComputedStyle(document.body); return [s.color, s.backgroundColor]; })()"


def test_light_and_dark(hands, edition):
    """As the device is set, or as chosen; 7 to 1 at least in both (WCAG 2.2, 1.4.6)."""
    hands.to(ids(edition)[0])
    grounds = []
    for dark in (False, True):
        hands.tab.dark(dark)
        ink, ground = hands.ask(COLOURS)
        assert contrast(ink, ground) >= 7
        grounds.append(ground)
    hands.click(".shown .steps")
    hands.click(".set[data-set=theme][data-value=light]")

    assert contrast(grounds[0], "rgb(255,255,255)") < 1.3 and contrast(grounds[1], "rgb(0,0,0)") < 1.5
    assert hands.ask(COLOURS)[1] == grounds[0]


def test_right_to_left(browser, both):
    """Arabic is mirrored as a whole: ahead is to the left, for buttons, arrows and fingers."""
    hands = Hands(browser, both)
    of = told(FLAGSHIP, "en", "ar")[1][1]
    hands.click(".shown .steps")
    hands.click(".set[data-set=language][data-value=ar]")
    hands.click(".close")
    assert hands.ask("[document.documentElement.dir, document.documentElement.lang]") == ["rtl", "ar"]
    (ahead,), (behind,) = hands.boxes(".shown .next"), hands.boxes(".shown .back")
    assert ahead[0] < behind[0]

    here, there = free(of)
    hands.to(here)
    for way, to in ((lambda: hands.press("ArrowLeft"), there), (lambda: hands.press("ArrowRight"), here),
                    (lambda: hands.swipe(200), there), (lambda: hands.swipe(-200), here)):  # fmt: skip
        hands.down()
        way()
        assert hands.place == to


def test_a_language_changed_at_the_end_keeps_the_record(browser, both):
    """The list of what was done is there in the language that is shown, too."""
    hands = Hands(browser, both)
    hands.to("record")
    rows = len(hands.shown(".log tbody tr"))
    hands.click(".shown .steps")
    hands.click(".set[data-set=language][data-value=ar]")
    hands.click(".close")

    assert rows == len(hands.shown(".log tbody tr")) > 30


SCREENS = [SMALL, PHONE, PHONE[::-1], TABLET, ON_ITS_SIDE, WALL, (3840, 2160)]
TARGETS = ".edition.shown :is(button, a, input, textarea)"


@pytest.mark.parametrize("size", SCREENS, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("language", ["en", "ar"])
def test_every_screen(browser, both, edition, size, language):
    """Targets of 14 mm, nothing beyond the sides, the stamp in sight, in every state that a page can be in."""
    hands = Hands(browser, both)
    hands.screen(size)
    hands.click(".shown .steps")
    hands.click(f".set[data-set=language][data-value={language}]")
    hands.click(".close")
    held = next(s for s in edition.steps if s.hold and s.branches)

    def look(state):
        small = [b for b in hands.boxes(TARGETS) if min(b[2], b[3]) < TOUCH - 0.5]
        assert not small, f"{state}: smaller than 14 mm: {small}"
        wide = hands.ask("Math.max(document.documentElement.scrollWidth - innerWidth, "
                         "...[...document.querySelectorAll('.shown .stage, dialog[open]')]"
                         ".map((el) => el.scrollWidth - el.clientWidth))")  # fmt: skip
        assert wide <= 0, f"{state}: reaches {wide} px beyond its side"
        ((_, top, _, height, words),) = hands.boxes(".shown .stamp")
        assert top >= 0 and top + height <= size[1] + 0.5, f"{state}: the stamp is out of sight"
        assert edition.code in words and edition.version in words
        seen = hands.ask("(() => { const b = document.querySelector('.shown .stamp').getBoundingClientRect();"
                         " const d = document.querySelector('dialog[open]');"
                         " return !d || d.getBoundingClientRect().bottom <= b.top + 1; })()")  # fmt: skip
        assert seen, f"{state}: a dialog covers the stamp"

    look("cover")
    hands.to(held.id)
    look("a stop with a branch")
    for one, other in (("steps", "overview"), ("alarm", "alarms")):
        hands.click(f".shown .{one}")
        look(other)
        hands.click(f".shown .{other} .close")
    hands.to("record")
    look("record")


@pytest.mark.parametrize("size", [(320, 256), (640, 512)], ids=["400 %", "200 %"])
def test_zoom(browser, english, edition, size):
    """A window of 1280 × 1024 at 200 and 400 % (WCAG 2.2, 1.4.10): everything is still reached, sideways never."""
    hands = Hands(browser, english)
    hands.screen(size, touch=False)
    hands.to(ids(edition)[2])

    assert hands.ask("document.documentElement.scrollWidth") <= size[0]
    assert hands.ask("document.querySelector('.shown .stage').scrollWidth") <= size[0]
    room = hands.ask("[document.querySelector('.shown .stage').clientHeight, document.body.scrollHeight]")
    assert room[0] >= 40 or room[1] > size[1]


def test_words_grow_with_the_screen(hands, edition):
    """On a wall, read from further away, they are larger; and they can be made larger anywhere."""
    hands.to(ids(edition)[0])
    size = "parseFloat(getComputedStyle(document.querySelector('.view.now .say')).fontSize)"
    sizes = []
    for screen in (PHONE, TABLET, WALL, (3840, 2160)):
        hands.screen(screen)
        sizes.append(hands.ask(size))
    assert sizes == sorted(sizes) and sizes[2] > 1.5 * sizes[0]

    hands.screen(PHONE)
    hands.click(".shown .steps")
    hands.click(".set[data-set=size][data-value=largest]")
    hands.click(".close")
    assert hands.ask(size) > 1.5 * sizes[0]


# --- dates --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("day", "shown"), [("late", ".late"), ("early", ".early"), ("now", "")])
def test_an_edition_out_of_its_time_says_so(browser, english, edition, day, shown):
    """Past its review date, or before it is in force; in its time nothing is said."""
    days = {"late": edition.review.toordinal() + 1, "early": edition.effective.toordinal() - 1,
            "now": edition.review.toordinal()}  # fmt: skip
    when = type(edition.review).fromordinal(days[day]).isoformat()
    clock = f"Date = class extends Date {{ constructor(...a) {{ super(...(a.length ? a : ['{when}T12:00'])); }} }};"
    hands = Hands(browser, english, clock)
    seen = {".late": hands.shown(".late"), ".early": hands.shown(".early")}

    assert {name for name, words in seen.items() if words} == ({shown} if shown else set())
    if shown:
        date = edition.review if day == "late" else edition.effective
        assert date.isoformat() in seen[shown][0]


# --- paper and record ---------------------------------------------------------------------------------------------


def printed(hands) -> str:
    data = hands.tab.call("Page.printToPDF", printBackground=True)["data"]
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(base64.b64decode(data))).pages).split())


def test_it_prints_as_the_script(hands, edition):
    """Every step in order with what is said, whatever step it is at; nothing to press, and no other language."""
    hands.to(ids(edition)[4])
    words = printed(hands)

    at = [words.index(f"{s.label} {s.headline.plain}") for s in edition.steps]
    assert all(a < b for a, b in pairwise(at))
    for step in edition.all_steps():
        assert " ".join(step.say.plain.split()) in words, step.id
        assert all(" ".join(c.hazard.plain.split()) in words for c in step.cautions)
    assert edition.fingerprint[:5] in words
    for press in ("Prompted", "More below", "Start the timer", "Confirmed", "Save as"):
        assert press not in words


def test_the_record_of_a_whole_session(hands, browser, edition, tmp_path):
    """Each step once with its times; a prompt and a breach where they were noted; JSON and CSV say the same."""
    first, second, *_ = ids(edition)
    hands.to(first)
    hands.click(".mark[data-mark=prompted]")
    hands.to(second)
    hands.click(".mark[data-mark=breach]")
    hands.to("record")
    assert hands.shown(".outcome .complete, .outcome .left") == ["All steps were gone through."]
    fields = "[...document.querySelectorAll('.shown .names :is(input, textarea)')].map((field) => field.value)"
    assert hands.ask(fields) == [""] * 4

    data = hands.saved("json", tmp_path, browser)
    value = json.loads(data)
    told_by_json = read_record(data, "x.json")
    session = told_by_json.session
    assert session, told_by_json.findings
    assert session == read_record(hands.saved("csv", tmp_path, browser), "x.csv").session
    assert (session.fingerprint, session.site) == (edition.fingerprint, edition.site)
    assert [m.step for m in session.marks] == ids(edition)
    assert {m.step: m.result for m in session.marks if m.result != "done"} == {first: "prompted"}
    assert {m.step: m.breaches for m in session.marks if m.breaches} == {second: 1}
    assert value["names"] == {} and value["unseen"] == []
    assert all(entry["confirmed"] is True for entry in value["steps"] if entry["confirmed"] is not None)


def test_names_are_kept_only_if_given(hands, browser, tmp_path):
    """What is typed into the fields at the end stands in the file, and nothing else of a person."""
    hands.to("record")
    hands.ask(
        "(() => { const i = document.querySelector('.shown input[name=wearer]'); i.value = 'A. Person';"
        " i.dispatchEvent(new Event('input', {bubbles: true})); })()"
    )

    assert json.loads(hands.saved("json", tmp_path, browser))["names"] == {"wearer": "A. Person"}


def test_a_splash_at_any_step_is_in_the_record(hands, browser, edition, tmp_path):
    """The branch for any step, taken in the middle: its steps stand in the record, and the rest is gone on with."""
    splash = next(b for b in edition.branches if b.anywhere)
    hands.to(ids(edition)[4])
    hands.branch(splash.id)
    hands.to("record")

    entries = json.loads(hands.saved("json", tmp_path, browser))["steps"]
    assert [e["step"] for e in entries] == [*ids(edition)[:5], *(s.id for s in splash.steps), *ids(edition)[4:]]
    assert [e["result"] for e in entries if e["step"] == ids(edition)[4]] == ["unfinished", "done"]
    assert {e["branch"] for e in entries} == {"", splash.id}


def test_a_step_that_found_something_is_done(hands, browser, edition, tmp_path):
    """A tear that an inspection found leaves the inspection done, once its stop is confirmed, if it has one."""
    torn = next(b for b in edition.branches if b.rejoin and not b.anywhere)
    at = next(s for s in edition.steps if torn.id in s.branches)
    hands.to(at.id)
    hands.confirm()
    hands.branch(torn.id)
    hands.to("record")

    entries = json.loads(hands.saved("json", tmp_path, browser))["steps"]
    assert [e["result"] for e in entries if e["step"] == at.id] == ["done"]


def test_a_session_that_is_left_says_so(hands, browser, edition, tmp_path):
    """The step it was left at was not finished, the rest was not due, and the record says that it was left."""
    leaving = next(b for b in edition.branches if not b.rejoin)
    at = next(n for n, s in enumerate(edition.steps) if leaving.id in s.branches)
    hands.to(ids(edition)[at])
    hands.branch(leaving.id)
    hands.to("record")
    assert hands.shown(".outcome .complete, .outcome .left") == ["Ended before the last step."]

    value = json.loads(hands.saved("json", tmp_path, browser))
    results = {entry["step"]: entry["result"] for entry in value["steps"]}
    assert value["outcome"] == "left" and value["unseen"] == ids(edition)[at + 1 :]
    assert results == {
        **dict.fromkeys(ids(edition)[:at], "done"), ids(edition)[at]: "unfinished",
        **{step.id: "done" for step in leaving.steps},
    }  # fmt: skip


def test_the_record_can_be_printed(hands):
    """Alone, without the script; afterwards the page is as before."""
    hands.to("record")
    hands.ask("window.print = () => { window.printed = document.documentElement.className; }")
    hands.click(".save[data-save=print]")
    assert "record-only" in hands.ask("window.printed")

    hands.ask("document.documentElement.classList.add('record-only')")
    words = printed(hands)
    assert "Session record" in words and "How" not in words.split()
