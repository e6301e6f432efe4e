"""Turn a name into a first protocol: short, invented, complete, and explained line by line."""

from __future__ import annotations

import re

from docgen.model.scalar import NAME

_TEMPLATE = """\
# yaml-language-server: $schema=schema/protocol.schema.json
#
# A protocol: one procedure, from which all sheets are made. This is an invented example; replace it with your own.
# Lines that start with `#` are notes for you. Keys come before a colon; what belongs together is indented by blanks.
# Put quotes round a text that has a colon and a blank in it, or that starts with `*`, `{`, `[`, `&`, `!` or `#`.
# *One star* makes emphasis, **two** make it strong. {curly-braces} are filled by each site, or by a supply's name.

protocol: @NAME@              # its name in file names; never changes
code: DOC-001                 # as printed on every sheet; capitals, digits, hyphens
title: Cleaning a shared bladder scanner
kind: procedure               # or: removing, putting-on (protective equipment)
version: "0.1"                # rises with every issue
effective: 2030-01-01         # year-month-day
review: 2031-12-31
status: draft                 # `approved` needs an `approval:` with by, role and on
owner: Infection Prevention, Kestrel Bay Hospital
audience: Nursing staff
purpose: Clean the scanner between two patients so that nothing is carried over.
invented: true                # delete this line in a real protocol
minutes: 6                    # how long all of it takes

# Why this version was made and what it changes, for the notice to staff.
reason: This is the first version.
changes:
  - The scanner is cleaned in the same order on all units.

# The published sources it rests on. Say so where there is none.
basis:
  - source: Common practice, no source
    part: order of cleaning
    note: Replace this with the manufacturer's instructions and your own policy.

# Who acts. A step without `actor` belongs to `wearer`, so name one here or give every step its actor.
roles:
  nurse:
    name: Nurse
  colleague:
    name: Second nurse
    contacts: false           # only looks; touches nothing

# Where it happens; 1 is the dirtiest place, and a sequence never goes back to a lower number.
places:
  bedside: {name: bedside, order: 1}
  store: {name: equipment store, order: 2}

# What is used. Kinds: agent (cleans), container, seat, surface, tool, garment (put on later), other.
supplies:
  wipes:
    name: disinfectant wipes
    kind: agent
    at: [bedside]             # everywhere, if left out
  hand-rub:
    name: hand rub
    kind: agent
  waste-bin:
    name: waste bin
    kind: container
  scanner:
    name: bladder scanner
    kind: tool

# Protective equipment would go under `items:` (see the shipped protocols). This procedure has none.

# What differs between sites. Any part may say `when: {storage: drawer}`; it is left out where another choice is made.
options:
  storage:
    title: Where the scanner is kept
    choices:
      drawer: {name: closed drawer}
      trolley: {name: open trolley}
    default: drawer

# Hazards: danger, warning, caution or notice; what is dangerous, what it leads to, how to avoid it.
cautions:
  wet-probe:
    signal: caution
    hazard: A wet probe can give a shock.
    consequence: It can burn the skin of the next patient.
    avoid: Do not plug in a wet probe.
    about: [other]            # so that a rule can find it; the list is in the schema
  vapor:
    signal: caution
    hazard: Wipes give off vapor.
    consequence: It can irritate your eyes.
    avoid: Do not lean over a wet surface.
    about: [fumes]

# The steps, in stretches with one purpose. A step has an `id` that never changes; its number is given later.
phases:
  - id: clean
    title: Clean the scanner
    place: bedside
    steps:
      - id: unplug
        headline: Unplug the scanner      # for posters and cards: verb first, few words
        actor: nurse
        say: Unplug the scanner.          # what is read aloud, word for word
        answer: Scanner unplugged.        # what is said back
        do:                               # the technique, in short lines
          - Hold the plug, not the cord.
        watch:                            # what an observer looks for
          - The cord does not touch the floor.
        done-when: The plug is out.       # an end state that can be seen
        acts:                             # the same for programs; one verb each
          - {touch: scanner}
        cautions: wet-probe               # printed before the step

      - id: wipe
        headline: Wipe all surfaces of the scanner
        actor: nurse
        say: Wipe the probe first, then the body.
        do:
          - Wipe the probe first, then the body.
          - Keep every surface wet for {wet-time}.   # each site fills this in, under `values`
        done-when: Every surface was wet for {wet-time}.
        acts:
          - {clean: scanner, using: wipes, time: {until: all surfaces are dry}}
          - {discard: wipes, into: waste-bin}
        cautions: vapor
        branches: damage                  # offered here; see below

      - id: rub-hands
        headline: Rub both hands with hand rub
        actor: nurse
        do:
          - Rub both hands for 20 to 30 seconds, until dry.
        done-when: Both hands are dry.
        acts:
          - {rub-hands: bare, using: hand-rub, time: {seconds: [20, 30]}}

  - id: put-away
    title: Put the scanner away
    place: store
    steps:
      - id: show
        headline: Show the clean scanner
        actor: nurse
        do:
          - Turn the scanner so that every side is seen.
        done-when: The second nurse has seen every side.
        acts:
          - {move: [nurse, colleague], to: store}
          - {inspect: scanner, by: colleague}
        hold:                             # nobody goes on until this is confirmed
          by: colleague
          until: the second nurse has seen every side

      - id: into-drawer
        headline: Put the scanner in the drawer
        actor: nurse
        done-when: The drawer is closed.
        acts:
          - {touch: scanner}
        when: {storage: drawer}

      - id: onto-trolley
        headline: Put the scanner on the trolley
        actor: nurse
        done-when: The scanner is under its cover.
        acts:
          - {touch: scanner}
        when: {storage: trolley}

# What to do when something is found. It rejoins at a step (`same`: where it was left), or says how it ends (`leave`).
branches:
  damage:
    question: Crack or loose part found?
    steps:
      - id: label
        headline: Label the scanner as out of use
        actor: nurse
        do:
          - Write the date and what is broken on the label.
        done-when: The label can be seen from the front.
        acts:
          - {touch: scanner}
    rejoin: rub-hands
    tell: The nurse tells the equipment store at {store-phone}.
"""


def starter(name: str) -> str:
    """The text of a new protocol called `name`. `ValueError` when that is not lower-case words joined by hyphens."""
    check_name(name)
    return _TEMPLATE.replace("@NAME@              #", f"{name} ".ljust(20) + "#", 1)


def check_name(name: str) -> None:
    """`ValueError` when something to be begun cannot be called `name`."""
    if not re.fullmatch(NAME, name) or len(name) > 64:
        raise ValueError(f"`{name}` is not a name: lower-case words joined by hyphens")
