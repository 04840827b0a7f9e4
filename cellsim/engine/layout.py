"""The state of a run: one nested record, described once as tables of fields.

`c.machines[i].state` reads the same whether `c` is a record of plain Python objects (the SimPy clock) or a
nested numpy record (a compiled clock): both are made from the tables below.  All times are integer
microseconds from the start of the run, all references are indices, and -1 means none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cellsim.describe.cell import MOST_CARRIER_KINDS
from cellsim.engine.draws import LAW_FIELDS, STREAM_FIELDS

# Kinds of due event, in the order in which they happen at one instant.
JOB_ENDS, STOP_BEGINS, ARRIVAL, UNITS_READY, CALENDAR_EDGE, PERSON_RETURNS = 1, 2, 3, 4, 5, 6
BATCH_CLOCK, BATCH_WAIT, TRAY_WAIT, UNITS_LATE, HELP_ARRIVES, CALLED_OUT = 7, 8, 9, 10, 11, 12
ZONE_RESTARTS, CARRIER_BACK, TABLE_TURNED = 13, 14, 15
KIND_STEP = 1 << 20  # priority of a due event = kind * KIND_STEP + who

# What a job is doing.
IDLE, CALLING, TRAVELLING, ACTIVE, PAUSED = 0, 1, 2, 3, 4
WAITING = 5  # a robot stands at the target of a move and waits until it is free

# Errands of robots: a unit from place to place, or the next unit fetched ahead for a station.
MOVE, FETCH_AHEAD = 0, 1

# Where a machine's unit stands in its cycle.
EMPTY, IN_CYCLE, DONE, CHANGING = 0, 1, 2, 3

# Kinds of step in a cycle or a visit.
WORK, FETCH, LOAD, UNLOAD, DELIVER, RETURN = 0, 1, 2, 3, 4, 5

# What the end of a visit's step does: bits.
LOADS, TAKES_OFF, DELIVERS = 1, 2, 4

# Kinds of store.
PLACES, HAND_OVER, RAW, OUTLET = 0, 1, 2, 3
UNLIMITED = 1 << 40

# Where a unit goes that is not a store.
SCRAP = -2

# Orders in which variants are released.
IN_RATIO, AT_RANDOM, CAMPAIGNS = 0, 1, 2

DAY = 24 * 3600 * 1_000_000

MOST_BORDERS = 32  # moments for which integrals are noted before somebody reads them

# Reading of a running-time meter that is never reached.
NEVER = 1 << 62

# How pieces of a purchased part come: each emptied bin goes and comes back full, an order when few are left,
# or a delivery every so often.
IN_BINS, BY_ORDER, REGULARLY = 0, 1, 2

# What a machine lacks for its next cycle, where it is no purchased part (whose index says which); at store s,
# from which nobody may take out of turn, it lacks LACKS_TURN - s.
LACKS_NOTHING, LACKS_UNITS, LACKS_LOT, LACKS_TURN = -1, -2, -3, -4

# Calendar states.
ON, BREAK, OFF, RUNNING_OUT, HANDING_OVER = 0, 1, 2, 3, 4
# One more that only a person has: there is work, and he or she has not come.
ABSENT = 5
# What happens to work in hand when a break or the night begins.
FINISH_ELEMENT, FULL_LENGTH, SUSPEND, DO_NOT_START, FINISH_UNIT, RUN_OUT, PUT_DOWN = 0, 1, 2, 3, 4, 5, 6

# Clocks of stops and what becomes of the unit in work.
RUNNING_TIME, ON_TIME, CYCLES, UNITS, TIMES_OF_DAY = 0, 1, 2, 3, 4
CONTINUES, RESTARTS, IS_SCRAPPED = 0, 1, 2

# Serving rules.
LONGEST_WAITING, DOWNSTREAM_FIRST, UPSTREAM_FIRST, LISTED_ORDER, FIXED_ROUND = 0, 1, 2, 3, 4

# How somebody takes the place of another: while he is in a break, while he is absent.
RELIEVES, STANDS_IN = 0, 1

# How a station chooses among several ways.
BY_SHARE, FIRST_FREE, SHORTEST_WAIT, IN_TURN = 0, 1, 2, 3

# States of a machine: exactly one at every instant.
MACHINE_STATES = (
    "working",
    "attended",
    "handled",
    "changeover",
    "starved",
    "blocked",
    "waiting for operator",
    "waiting for robot",
    "waiting for robot, empty",
    "down",
    "waiting for repair",
    "break",
    "off",
    "planned service",
    "waiting for material",
    "no lot due",
    "waiting for carrier",
)
(
    M_WORKING,
    M_ATTENDED,
    M_HANDLED,
    M_CHANGEOVER,
    M_STARVED,
    M_BLOCKED,
    M_WAITS_OPERATOR,
    M_WAITS_ROBOT,
    M_EMPTY_WAITS_ROBOT,
    M_DOWN,
    M_WAITS_REPAIR,
    M_BREAK,
    M_OFF,
    M_SERVICE,
    M_WAITS_MATERIAL,
    M_NO_LOT,
    M_WAITS_CARRIER,
) = range(len(MACHINE_STATES))

# States of a person or robot.
ACTOR_STATES = (
    "working",
    "travelling",
    "repairing",
    "free",
    "held",
    "down",
    "waiting for repair",
    "break",
    "off",
    "helping out",
    "handing over",
    "absent",
    "planned service",
    "bringing",
    "waiting for zone",
)
(
    A_WORKING,
    A_TRAVELLING,
    A_REPAIRING,
    A_FREE,
    A_HELD,
    A_DOWN,
    A_WAITS_REPAIR,
    A_BREAK,
    A_OFF,
    A_HELPING,
    A_HANDS_OVER,
    A_ABSENT,
    A_SERVICE,
    A_BRINGING,
    A_WAITS_ZONE,
) = range(len(ACTOR_STATES))

# fmt: off
# What the trace tells: who (an index of what the second column says) does what (with which other).
NOTES = (
    ("starts", "machine", "step"),
    ("ends", "machine", "step"),
    ("hands over to", "machine", "store"),
    ("unit leaves the cell", "machine", "unit"),
    ("scraps a unit", "machine", "unit"),
    ("rejects", "machine", "times"),
    ("stops", "stop", ""),
    ("repair begins", "stop", ""),
    ("repair ends", "stop", ""),
    ("sets out for", "actor", "point"),
    ("handling starts", "machine", "step"),
    ("handling ends", "machine", "step"),
    ("goes over to", "calendar", "duty"),
    ("unit arrives", "store", "unit"),
    ("works on", "actor", "job"),
    ("leaves", "actor", "duty"),
    ("is back", "actor", ""),
    ("loses a unit that waited too long", "store", "unit"),
    ("moves on", "actor", "turn"),
    ("makes a unit faulty", "machine", "unit"),
    ("puts a unit right", "machine", "unit"),
    ("puts down", "actor", "job"),
    ("is called out", "actor", ""),
    ("is sent for", "part", "pieces"),
    ("arrives", "part", "pieces"),
    ("is collected", "store", "pieces"),
    ("begins the move", "errand", ""),
    ("takes the unit", "errand", ""),
    ("puts the unit down", "errand", ""),
    ("changes to gripper", "actor", "gripper"),
    ("misses a pick", "actor", ""),
    ("stands for zone", "actor", "zone"),
    ("slows down for zone", "actor", "zone"),
    ("may move again", "actor", ""),
)
(
    N_STARTS, N_ENDS, N_HANDS_OVER, N_LEAVES, N_SCRAPPED, N_REJECTS, N_STOP, N_REPAIR_BEGINS, N_REPAIR_ENDS,
    N_SETS_OUT, N_HANDLING_STARTS, N_HANDLING_ENDS, N_CALENDAR, N_ARRIVES, N_ATTENDS, N_GOES, N_RETURNS,
    N_LATE, N_MOVES_ON, N_FAULT, N_PUT_RIGHT, N_PUTS_DOWN, N_CALLED_OUT,
    N_SENT_FOR, N_DELIVERED, N_COLLECTED,
    N_MOVE_BEGINS, N_TAKES, N_PLACES_UNIT, N_GRIPPER, N_MISSES, N_STANDS, N_SLOWS, N_MOVES_AGAIN,
) = range(len(NOTES))

# fmt: on

CREW = 8  # the most persons and robots that one element may need at once
CARRIER_KINDS = MOST_CARRIER_KINDS  # the most kinds of carrier that a cell may have
LEVEL_BINS = 128  # time-at-level histogram of a store

INT, REAL = "i8", "f8"

# fmt: off
# One row a field: (name, type, length); length 0 = a single value.  A name in capitals as length = that size.
FIELDS: dict[str, list[tuple[str, str, int]]] = {
    "due": [("at", INT, 0), ("kind", INT, 0), ("who", INT, 0), ("version", INT, 0)],
    "law": list(LAW_FIELDS),
    "stream": list(STREAM_FIELDS),
    "station": [
        ("first_machine", INT, 0), ("machines", INT, 0), ("rank", INT, 0), ("priority", INT, 0),
        ("first_step", INT, 0), ("steps", INT, 0),  # the work elements that occupy the machine
        ("first_start", INT, 0), ("starts", INT, 0),  # visit that loads an empty machine
        ("first_exchange", INT, 0), ("exchanges", INT, 0),  # visit that unloads and loads
        ("first_end", INT, 0), ("ends", INT, 0),  # visit that only unloads
        ("first_input", INT, 0), ("inputs", INT, 0), ("gives", INT, 0),
        ("first_outlet", INT, 0), ("outlets", INT, 0), ("outlet_stream", INT, 0),
        ("chooses", INT, 0), ("turn", INT, 0), ("beckons", INT, 0),
        ("dial", INT, 0), ("inner", INT, 0),  # 1 + its indexing table, the store to the next position on it
        ("carries", INT, 0), ("clears", INT, 0),  # puts units on carriers, takes them off
        ("reserves", INT, 0), ("one_visit", INT, 0), ("runs_through", INT, 0), ("calendar", INT, 0),
        ("open", INT, 0),
        ("judges", INT, 0), ("reject_front", INT, 0), ("reject_holds", INT, 0),
        ("reject_share", REAL, 0), ("reject_again", REAL, 0),
        ("reject_store", INT, 0),
        ("attempts", INT, 0), ("verdict_stream", INT, 0), ("first_verdict", INT, 0), ("verdicts", INT, 0),
        ("picks", INT, 0), ("accepts", INT, 0), ("line", INT, 0), ("wait_cause", INT, 0),
        ("batch", INT, 0), ("mixed", INT, 0), ("at_least", INT, 0), ("longest_wait", INT, 0),
        ("wait_noted", INT, 0), ("first_size", INT, 0),
        ("first_clock", INT, 0), ("clocks", INT, 0), ("next_clock", INT, 0), ("clock_base", INT, 0),
        ("clock_due", INT, 0),
        ("first_change", INT, 0), ("changes", INT, 0), ("ahead", INT, 0),  # steps of a changeover
        ("changed", INT, 0), ("batches", INT, 0), ("batched", INT, 0),  # how often, batches and units in them
        ("judged", INT, 0), ("rejected", INT, 0), ("scrapped", INT, 0), ("first_pass", INT, 0),
        ("first_tests", INT, 0),
        ("primes", INT, 0),  # a primed run begins with a unit on its machines
        ("first_inside", INT, 0), ("insides", INT, 0),  # the work inside machine time
        ("loop", INT, 0),  # which of the loops of rejects it has, -1 where no unit comes back
        ("then_store", INT, 0), ("then_front", INT, 0),  # where a unit goes after its last attempt
        ("repair_step", INT, 0), ("sample_step", INT, 0),  # elements after the cycle, -1 = none
        ("fault_bit", INT, 0), ("fault_share", REAL, 0), ("fault_again", REAL, 0), ("fault_stream", INT, 0),
        ("first_fault", INT, 0), ("listed_faults", INT, 0), ("fault_draws", INT, 0),
        ("lot_share", REAL, 0), ("lot_stream", INT, 0),
        ("mends", REAL, 0), ("mend_stream", INT, 0),
        ("inspects", INT, 0), ("sees", INT, 0), ("finds", REAL, 0), ("false_share", REAL, 0),
        ("sample_every", INT, 0), ("destroys", INT, 0), ("passed", INT, 0),
        ("faulted", INT, 0), ("mended", INT, 0), ("false_rejects", INT, 0), ("missed", INT, 0),
        ("sampled", INT, 0), ("sampled_faulty", INT, 0),
        ("supplied", INT, 0),  # 1: more to look at before a cycle than the units that it takes
        ("first_use", INT, 0), ("uses", INT, 0), ("strict", INT, 0),
        ("bar", INT, 0), ("bars", INT, 0),  # cycles from one bar, bars begun
        ("lot", INT, 0), ("lot_at", INT, 0), ("lot_left", INT, 0), ("lot_store", INT, 0), ("lots", INT, 0),
        ("carried_off", INT, 0), ("brought", INT, 0),  # whether moves of robots take its units or bring them
        ("fetcher", INT, 0), ("fetches", INT, 0),  # errand that fetches ahead + 1, steps it saves a visit
    ],
    "step": [
        ("kind", INT, 0), ("law", INT, 0), ("stream", INT, 0), ("first_need", INT, 0), ("needs", INT, 0),
        ("point", INT, 0), ("cause", INT, 0), ("plan", INT, 0), ("robot", INT, 0), ("effect", INT, 0),
        ("at_machine", INT, 0),
        ("station", INT, 0), ("varies", INT, 0), ("first_law", INT, 0),
        ("element", INT, 0), ("pace", REAL, 0),
        ("alone", INT, 0),  # the machine works alone, and work inside machine time is called for
        ("extra", INT, 0),  # an element after the cycle, for units that need it
        ("picks", INT, 0), ("miss_stream", INT, 0), ("gripper", INT, 0), ("zones", INT, 0),
        ("things", INT, 0), ("first_person", INT, 0),
    ],
    "step_law": [("law", INT, 0), ("plan", INT, 0)],  # of a step whose length depends on the variant
    "plan": [
        ("kind", INT, 0), ("variant", INT, 0), ("made", INT, 0), ("first_count", INT, 0), ("stream", INT, 0),
        ("first_campaign", INT, 0), ("campaigns", INT, 0), ("turn", INT, 0), ("left", INT, 0),
    ],
    "campaign": [("variant", INT, 0), ("units", INT, 0)],
    "need": [("skill", INT, 0), ("people", INT, 0)],
    "input": [("store", INT, 0), ("units", INT, 0)],
    "outlet": [("store", INT, 0), ("upto", REAL, 0), ("front", INT, 0), ("variants", INT, 0)],
    "use": [("stock", INT, 0), ("pieces", INT, 0)],
    "stock": [
        ("level", INT, 0), ("box", INT, 0), ("kind", INT, 0), ("order_level", INT, 0), ("most", INT, 0),
        ("strict", INT, 0), ("shared", INT, 0), ("first_taker", INT, 0), ("takers", INT, 0),
        ("first_supply", INT, 0), ("supplies", INT, 0), ("node", INT, 0),
        ("delivered", INT, 0), ("deliveries", INT, 0), ("used", INT, 0), ("since", INT, 0), ("area", INT, 0),
        ("lacking", INT, 0), ("short_since", INT, 0), ("short_time", INT, 0), ("shortages", INT, 0),
    ],
    "supply": [
        ("stock", INT, 0), ("store", INT, 0), ("amount", INT, 0), ("regular", INT, 0), ("out", INT, 0),
        ("wait", INT, 0), ("trip", INT, 0), ("tripping", INT, 0), ("since", INT, 0),
        ("cause", INT, 0), ("waiting_cause", INT, 0),
    ],
    "hour": [("at", INT, 0), ("units", INT, 0)],
    "machine": [
        ("station", INT, 0), ("number", INT, 0), ("rank", INT, 0), ("woken", INT, 0),
        ("progress", INT, 0), ("step", INT, 0), ("remaining", INT, 0), ("unit", INT, 0), ("units", INT, 0),
        ("outlet", INT, 0), ("front", INT, 0), ("choosing", INT, 0), ("beckoned", INT, 0),
        ("holds_place", INT, 0), ("offering", INT, 0),
        ("next_offer", INT, 0),
        ("handled", INT, 0), ("unloaded", INT, 0),
        ("holds_back", INT, 0), ("asleep", INT, 0), ("in_work", INT, 0),
        ("lost", INT, 0), ("downs", INT, 0),
        ("repairs", INT, 0), ("first_stop", INT, 0), ("stops", INT, 0),
        ("cycle_stops", INT, 0),
        ("kept", INT, 0), ("setup", INT, 0), ("changes_to", INT, 0),
        ("inside_called", INT, 0),
        ("due_stops", INT, 0), ("services", INT, 0),  # stops that wait for its cycle to end; under service
        ("spoils", INT, 0), ("spoiled_by", INT, 0),  # units yet to be scrapped after a stop, and which stop
        ("made", INT, 0),  # units of the cycle that is over, where they are counted
        ("node", INT, 0), ("cycles", INT, 0), ("state", INT, 0), ("since", INT, 0),
        ("totals", INT, len(MACHINE_STATES)), ("drawn", INT, 0),
        ("samples", INT, 0),
        ("left_on_bar", INT, 0), ("lacks", INT, 0), ("ticket", INT, 0), ("asks_for", INT, 0),
        ("lot_mates", INT, 0),
        ("bar_variant", INT, 0), ("bar_line", INT, 0), ("bar_faults", INT, 0), ("bar_been", INT, 0),
        ("awaits", INT, 0), ("told", INT, 0), ("eager", INT, 0), ("leaving", INT, 0), ("coming", INT, 0),
    ],
    "job": [
        ("state", INT, 0), ("version", INT, 0), ("began", INT, 0), ("due", INT, 0), ("remaining", INT, 0),
        ("since", INT, 0), ("priority", INT, 0), ("rank", INT, 0), ("step", INT, 0), ("last_step", INT, 0),
        ("need", INT, 0), ("needs", INT, 0), ("node", INT, 0), ("reason", INT, 0), ("crew", INT, CREW),
        ("crew_size", INT, 0), ("pauses", INT, 0), ("unit", INT, 0), ("units", INT, 0), ("outlet", INT, 0),
        ("front", INT, 0), ("plan", INT, 0), ("length", INT, 0), ("planned", INT, 0),
        ("cause", INT, 0), ("meter", INT, 0),
        ("was", INT, 0), ("rest_plan", INT, 0), ("held", INT, 0),
        ("keeps", INT, 0),
        ("way_left", INT, 0), ("place", INT, 0), ("which", INT, 0), ("quiet", INT, 0),
        ("ready_at", INT, 0),  # before this instant nobody who is called from elsewhere is there
        ("changing", INT, 0), ("pace", REAL, 0), ("rest", INT, 0),
    ],
    "store": [
        ("kind", INT, 0), ("places", INT, 0), ("level", INT, 0), ("reserved", INT, 0), ("head", INT, 0),
        ("tail", INT, 0), ("offers", INT, 0), ("first_offer", INT, 0), ("last_offer", INT, 0),
        ("node", INT, 0),
        ("first_taker", INT, 0), ("takers", INT, 0), ("first_feeder", INT, 0), ("feeders", INT, 0),
        ("limited", INT, 0), ("counts", INT, 0),
        ("returned", INT, 0), ("shared", INT, 0), ("offered", INT, 0), ("plan", INT, 0),
        ("last_first", INT, 0),
        ("holds", INT, 0), ("delay", INT, 0), ("tray", INT, 0), ("tray_waits", INT, 0),  # holds units back
        ("gathering", INT, 0), ("first_held", INT, 0), ("last_held", INT, 0),
        ("trays_out", INT, 0), ("first_tray", INT, 0), ("tray_version", INT, 0), ("hold_cause", INT, 0),
        ("overdue", INT, 0),  # 1 = a tray waits for units that are coming; 2 = looked at at once
        ("use_within", INT, 0), ("late_to", INT, 0), ("late_due", INT, 0), ("late_noted", INT, 0),
        ("late_units", INT, 0), ("late_cause", INT, 0),
        ("tallied", INT, 0), ("first_tally", INT, 0),  # its units that can be taken are counted by variant
        ("strict", INT, 0), ("hourly", INT, 0), ("allowance", INT, 0),
        ("entered", INT, 0), ("left", INT, 0), ("since", INT, 0), ("area", INT, 0), ("stays", INT, 0),
        ("highest", INT, 0), ("bin_width", INT, 0), ("time_at", INT, LEVEL_BINS),
    ],
    "tally": [("units", INT, 0), ("oldest", INT, 0)],  # how many; when the first came, -1 = look
    "starting_unit": [("store", INT, 0), ("variant", INT, 0)],
    "part": [
        ("next", INT, 0), ("entered", INT, 0), ("stored", INT, 0), ("node", INT, 0),
        ("inside", INT, 0), ("card", INT, 0),
        ("variant", INT, 0), ("line", INT, 0), ("at", INT, 0),
        ("ready", INT, 0), ("after", INT, 0), ("tray", INT, 0),
        ("faults", INT, 0), ("been", INT, 0),  # bits of the stations that made it faulty, that worked on it
        ("on", INT, CARRIER_KINDS),  # 1 + the carrier of each kind that it is on, 0 = none
    ],
    "carrier_kind": [
        ("start", INT, 0), ("end", INT, 0), ("per_batch", INT, 0), ("law", INT, 0), ("stream", INT, 0),
        ("plan", INT, 0), ("cause", INT, 0), ("use_cause", INT, 0), ("count", INT, 0),
        ("first_free", INT, 0), ("last_free", INT, 0), ("free", INT, 0), ("coming", INT, 0),
        ("taken", INT, 0), ("since", INT, 0), ("area_used", INT, 0), ("area_coming", INT, 0),
        ("none_free", INT, 0),
    ],
    "dial": [
        ("first_position", INT, 0), ("positions", INT, 0), ("law", INT, 0), ("stream", INT, 0),
        ("plan", INT, 0), ("cause", INT, 0), ("turning", INT, 0), ("halts", INT, 0), ("due", INT, 0),
        ("node", INT, 0), ("turns", INT, 0),
    ],
    "carrier": [("kind", INT, 0), ("units", INT, 0), ("next", INT, 0), ("node", INT, 0)],
    "actor": [
        ("robot", INT, 0), ("job", INT, 0), ("woken", INT, 0), ("present", INT, 0), ("duty", INT, 0),
        ("rule", INT, 0), ("at_break", INT, 0), ("returns", INT, 0), ("version", INT, 0), ("away", INT, 0),
        ("owes", INT, 0), ("break_length", INT, 0),
        ("point", INT, 0), ("careful", INT, 0), ("first_travel", INT, 0), ("calendar", INT, 0),
        ("serves", INT, 2),
        ("overtaking", INT, 0), ("first_candidate", INT, 0), ("candidates", INT, 0),
        ("first_listed", INT, 0),
        ("first_ability", INT, 0), ("downs", INT, 0), ("repairs", INT, 0), ("first_stop", INT, 0),
        ("stops", INT, 0), ("meter", INT, 0), ("cycle_stops", INT, 0), ("node", INT, 0),
        ("travel_cause", INT, 0), ("state", INT, 0), ("since", INT, 0), ("totals", INT, len(ACTOR_STATES)),
        ("visits", INT, 0),
        ("number", INT, 0), ("first_helper", INT, 0), ("helpers", INT, 0), ("first_place", INT, 0),
        ("places", INT, 0), ("out", INT, 0), ("absence", REAL, 0), ("absence_stream", INT, 0),
        ("missing", INT, 0),
        ("learns", INT, 0), ("learning_power", REAL, 0), ("standard_after", REAL, 0),
        ("first_repetition", INT, 0), ("first_turn", INT, 0), ("turns", INT, 0),
        ("at_round", INT, 0), ("rounds", INT, 0), ("first_minute", INT, 0),
        ("due_stops", INT, 0), ("services", INT, 0),  # stops that wait for its job to end; under service
        ("responds", INT, 0), ("called_out", INT, 0),  # comes from elsewhere; from off duty after, or -1
        ("thing", INT, 0), ("slowness", REAL, 0),
        ("first_errand", INT, 0), ("errands", INT, 0), ("next_errand", INT, 0), ("fixed", INT, 0),
        ("ahead", INT, 0),
        ("gripper", INT, 0), ("gripper_change", INT, 0), ("changes", INT, 0),
        ("change_cause", INT, 0),
        ("miss_share", REAL, 0), ("miss_retry", INT, 0), ("miss_works", REAL, 0), ("miss_retries", INT, 0),
        ("miss_stop", INT, 0), ("picks", INT, 0), ("missed", INT, 0), ("recovery", INT, 0),
        ("zones", INT, 0), ("inside", INT, 0), ("stopped", INT, 0), ("pace", REAL, 0),
        ("zone_cause", INT, 0),
    ],
    "place": [("actor", INT, 0), ("kind", INT, 0)],
    "stop": [
        ("of_actor", INT, 0), ("target", INT, 0), ("clock", INT, 0), ("left", INT, 0), ("since", INT, 0),
        ("meter", INT, 0), ("reading", INT, 0), ("version", INT, 0), ("active", INT, 0), ("part", INT, 0),
        ("calendar", INT, 0),
        ("every_law", INT, 0), ("every_stream", INT, 0), ("lasts_law", INT, 0), ("lasts_stream", INT, 0),
        ("first_need", INT, 0), ("needs", INT, 0), ("point", INT, 0), ("cause", INT, 0),
        ("waiting_cause", INT, 0), ("began", INT, 0),
        ("count", INT, 0), ("repair_time", INT, 0), ("waiting_time", INT, 0), ("spoilt", INT, 0),
        ("planned", INT, 0),
        ("after_cycle", INT, 0), ("pending", INT, 0),  # waits for the end of the cycle; how many it waits for
        ("first_member", INT, 0), ("members", INT, 0),  # who stands still with it: machines, then actors
        ("first_moment", INT, 0), ("moments", INT, 0),  # times of the week, from the start of the run
        ("restart_scrap", INT, 0), ("interrupts", INT, 0), ("called_out", INT, 0),
        ("response_law", INT, 0), ("response_stream", INT, 0),
        ("zones", INT, 0), ("more", INT, 0),
    ],
    "errand": [
        ("robot", INT, 0), ("kind", INT, 0), ("from_station", INT, 0), ("to_station", INT, 0),
        ("store", INT, 0), ("first_step", INT, 0), ("steps", INT, 0), ("checks", INT, 0), ("source", INT, 0),
        ("target", INT, 0), ("going", INT, 0),
    ],
    "zone": [
        ("speed", REAL, 0), ("restart", INT, 0), ("people", INT, 0), ("count", INT, 0),
        ("restarting", INT, 0), ("version", INT, 0), ("since", INT, 0), ("entries", INT, 0),
        ("inside", INT, 0),
        ("node", INT, 0), ("cause", INT, 0),
    ],
    "meter": [
        ("ran", INT, 0), ("next_strike", INT, 0), ("expects", INT, 0),
        ("first_stop", INT, 0), ("stops", INT, 0),
    ],
    "calendar": [
        ("state", INT, 0), ("rule", INT, 0), ("length", INT, 0), ("first_edge", INT, 0), ("edges", INT, 0),
        ("next_edge", INT, 0), ("base", INT, 0), ("period", INT, 0), ("next_at", INT, 0),
        ("next_state", INT, 0),
    ],
    "edge": [
        ("at", INT, 0), ("state", INT, 0), ("rule", INT, 0), ("length", INT, 0),
        ("changes", INT, 0), ("fresh", INT, 0), ("turn", INT, 0),
    ],
    "skill": [("first_able", INT, 0), ("able", INT, 0)],
    "path": [("before", INT, 0), ("cause", INT, 0), ("end", INT, 0), ("plan", INT, 0), ("moved", INT, 0)],
    "note": [("at", INT, 0), ("what", INT, 0), ("who", INT, 0), ("other", INT, 0)],
    "exit": [("at", INT, 0), ("entered", INT, 0), ("store", INT, 0), ("node", INT, 0)],
}

# The fields of the record itself that are single numbers.
SCALARS: tuple[str, ...] = (
    "now", "horizon", "station_count", "machine_count", "job_count", "actor_count", "visit_base",
    "repair_base", "inside_base", "supply_base", "store_count", "stock_count", "supply_count",
    "standing_waits", "ticket_count", "hourly_count", "hourly_next", "hourly_base", "hourly_period",
    "stop_count", "calendar_count", "point_count", "due_count", "woken_count", "actors_woken",
    "active", "free_part", "free_parts", "parts_made", "parts_needed", "wip", "wip_since",
    "wip_area", "wip_stays", "wip_highest",
    "created", "good", "scrapped", "consumed", "left_elsewhere", "card_limit", "on_cards", "cell_calendar",
    "release_law", "release_stream", "release_store", "release_next", "release_first",
    "release_count", "release_waits", "release_node", "emptied_node", "running_out",
    "path_count", "path_limit", "path_forced", "found_size", "last_good", "last_good_at",
    "cause_calendar", "cause_release", "cause_wait", "cause_count",
    "variant_count", "line_empties", "pick_units", "pick_variant", "windows_due", "plan_count",
    "abilities_change", "skill_count", "learning", "primed", "rounds", "minutes_kept",
    "errand_base", "errand_count", "changing_grippers", "mispicking", "zone_count", "zones_woken",
    "thing_count", "carrier_kind_count", "carrier_count", "carriers_coming", "dial_count", "dials_due",
    "tracing", "robot_stops", "urgent", "call_outs", "note_count", "exit_count", "events", "starts",
    "starting_count", "notes_most", "exits_most", "stalled_at", "counting_from",
    "border_count", "border_next",  # moments at which integrals are noted: how many, and those that are past
    "loops", "hidden", "extras", "turned_faulty", "put_right", "faulty_gone", "escapes",
)

# The arrays of the record: (name, row type).  Row types INT and REAL are plain numbers.
ARRAYS: tuple[tuple[str, str], ...] = (
    ("due", "due"), ("laws", "law"), ("streams", "stream"), ("table", REAL), ("stations", "station"),
    ("steps", "step"), ("needs", "need"), ("inputs", "input"), ("outlets", "outlet"), ("machines", "machine"),
    ("jobs", "job"), ("stores", "store"), ("takers", INT), ("feeders", INT), ("parts", "part"),
    ("actors", "actor"),
    ("abilities", REAL), ("candidates", INT), ("listed", INT), ("travel", INT), ("stops", "stop"),
    ("meters", "meter"),
    ("calendars", "calendar"), ("edges", "edge"), ("skills", "skill"), ("able", INT), ("arrivals", INT),
    ("verdicts", INT), ("listed_faults", INT), ("tries", INT), ("members", INT), ("moments", INT),
    ("uses", "use"), ("stocks", "stock"), ("supplies", "supply"), ("hourly", "hour"),
    ("woken", INT), ("path", "path"), ("path_totals", INT), ("path_plans", INT),
    ("path_counted", INT), ("path_counted_plans", INT),
    ("walked", INT), ("walked_plans", INT), ("starting", "starting_unit"),
    ("notes", "note"), ("exits", "exit"), ("errands", "errand"), ("zones", "zone"),
    ("step_laws", "step_law"), ("plans", "plan"), ("plan_counts", INT), ("campaigns", "campaign"),
    ("shares", REAL),
    ("inside", INT), ("batch_sizes", INT), ("batch_counts", INT), ("batch_since", INT), ("clock_times", INT),
    ("tray_units", INT), ("tallies", "tally"),
    ("own_abilities", REAL), ("turn_abilities", REAL), ("places", "place"), ("helpers", INT),
    ("repetitions", INT), ("minutes", INT),
    ("carrier_kinds", "carrier_kind"), ("carriers", "carrier"), ("dials", "dial"), ("positions", INT),
    ("borders", INT), ("areas", INT),
)

# fmt: on

# The arrays with one number for each cause of the path.
BY_CAUSE = ("path_totals", "path_plans", "path_counted", "path_counted_plans", "walked", "walked_plans")


def _row_class(name: str, fields: list[tuple[str, str, int]]) -> type:
    """A slotted class whose objects hold the fields of one row as plain Python numbers and lists.

    `of(values)` makes one of all its values in order, arrays where a field has several.
    """
    lines = ["def __init__(self):"]
    for field, kind, length in fields:
        zero = "0.0" if kind == REAL else "0"
        lines.append(f"    self.{field} = " + (f"[{zero}] * {length}" if length else zero))
    names = [field for field, _, _ in fields]
    lines += ["def of(cls, values):", "    row = cls.__new__(cls)"]
    lines += ["    (" + ", ".join(f"row.{field}" for field in names) + ",) = values"]
    lines += [f"    row.{field} = row.{field}.tolist()" for field, _, length in fields if length]
    lines += ["    return row"]
    space: dict[str, Any] = {}
    exec("\n".join(lines), space)
    return type(
        name.capitalize() + "Row",
        (),
        {
            "__slots__": tuple(names),
            "__init__": space["__init__"],
            "of": classmethod(space["of"]),
        },
    )


ROWS: dict[str, type] = {name: _row_class(name, fields) for name, fields in FIELDS.items()}


class State:
    """The record of one run as plain Python objects, for the SimPy clock."""

    __slots__ = SCALARS + tuple(name for name, _ in ARRAYS)

    if TYPE_CHECKING:

        def __getattr__(self, name: str) -> Any: ...
        def __setattr__(self, name: str, value: Any) -> None: ...

    def __init__(self) -> None:
        for name in SCALARS:
            setattr(self, name, 0)
        for name, _ in ARRAYS:
            setattr(self, name, [])


def rows(kind: str, count: int) -> list[Any]:
    """`count` new rows of a kind, all zero."""
    if kind == INT:
        return [0] * count
    if kind == REAL:
        return [0.0] * count
    make = ROWS[kind]
    return [make() for _ in range(count)]
