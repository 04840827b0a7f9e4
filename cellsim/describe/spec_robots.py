"""Keys of robots and of the zones that they share with people."""

from __future__ import annotations

from cellsim.describe.fields import Choice, Key, ListOf, MapOf, Table
from cellsim.describe.kinds import COUNT, INSIDE, NAME, PAIR, REFERENCE, SETTING, SHARE, SPEED, TIME, YES_NO
from cellsim.describe.spec_people import CRITERIA, TRAVEL
from cellsim.describe.spec_work import BY, DURATION, POWERS, SERVICES, STOPS

FIXED_SEQUENCE = "fixed sequence"

CALLED = Table("who comes", "Whoever clears what the robot could not pick.", (
    Key("by", BY, "A post or a skill.", "by: A", required=True),
    Key("time", DURATION, "How long it takes, once there.", "time: 45 s", required=True),
))  # fmt: skip

MISPICKS = Table("mis-picks", "Picks that fail: the robot tries again, then somebody comes.", (
    Key("share", SHARE, "Share of picks that fail.", "share: 4 per 1000", default="1 per 1000",
        why="common practice, no source"),
    Key("retry", TIME, "How long one more try takes.", "retry: 2.5 s", required=True),
    Key("works", SHARE, "Share of retries that succeed.", "works: 80 %", default="80 %",
        why="common practice, no source"),
    Key("retries", COUNT, "Tries before somebody is called.", "retries: 1", default="1",
        why="common practice, no source"),
    Key("then", CALLED, "Who comes when all retries fail.", "then: {by: A, time: 45 s}", required=True),
))  # fmt: skip

RECOVERY = Table("a recovery", "What follows each repair of a robot before it goes on: home, look, reset.", (
    Key("time", DURATION, "How long it takes.", "time: 30 s", default="30 s",
        why="common practice, no source"),
    Key("by", BY, "Who does it; without it nobody is needed.", "by: operator"),
))  # fmt: skip

ROBOT = Table("a robot", "A robot that attends stations, or moves units from place to place.", (
    Key("serves", ListOf(Choice((*CRITERIA, FIXED_SEQUENCE)), lone=True),
        "Which call is answered first among those of equal priority; in a fixed sequence it answers none, but"
        " goes through its moves in the order given and waits at each until the unit is ready. A move from an"
        " empty place is left out.",
        "serves: longest waiting",
        default="downstream first, longest waiting",
        why="the last in the route, then who has waited longest"),
    Key("moves", ListOf(PAIR, most=100),
        "Moves between stations, stores and points where raw units lie or finished ones are put down.",
        "moves: [in > mill, mill > lathe, lathe > out]"),
    Key("pick", DURATION, "How long the pick of each move takes.", "pick: 2 s"),
    Key("place", DURATION, "How long it takes to put down.", "place: 2 s"),
    Key("checks_target", YES_NO, "With `moves`: it takes a unit only when its target is free.",
        "checks_target: no", default="yes",
        why="a robot never takes a unit unless its target is free or kept for it"),
    Key("order", ListOf(REFERENCE), "Stations in the order for `listed order`.", "order: [mill, lathe]"),
    Key("gripper", Choice(("single", "double")), "A double gripper exchanges at the machine.",
        "gripper: double",
        default="single", why="one unit in the gripper at a time"),
    Key("fetches_ahead", YES_NO,
        "With a double gripper: it fetches the next unit before the machine calls.", "fetches_ahead: yes",
        default="no"),
    Key("grippers", MapOf(REFERENCE, NAME), "The gripper that each station needs.",
        "grippers: {wind: jaw, close: cup}"),
    Key("gripper_change", TIME, "How long a change of gripper takes.", "gripper_change: 4 s"),
    Key("mispicks", MISPICKS, "Picks that fail.",
        "mispicks: {share: 4 per 1000, retry: 2.5 s, then: {by: A, time: 45 s}}"),
    Key("speed_setting", SETTING,
        "Speed of travel and handling (moves, and phases other than work), as a share of the stated speed.",
        "speed_setting: 50 %", default="100 %"),
    Key("recovery", RECOVERY, "What follows each repair of it before it goes on.",
        "recovery: {time: 30 s, by: operator}"),
    Key("travel", TRAVEL, "Travel times of this robot, before those of the cell.",
        "travel: {rack > mill: 1.5 s}"),
    Key("speed", SPEED, "Travel speed, with `layout`.", "speed: 1 m/s"),
    Key("starts_at", REFERENCE, "Where it stands at first.", "starts_at: rack"),
    Key("stops", STOPS, "Causes of stops by name.", "stops: {drop: {every: 60 min of running, lasts: 90 s}}"),
    Key("service", SERVICES, "Planned service by name.",
        "service: {greasing: {at: Fri 13:00, lasts: 20 min}}"),
    Key("power", POWERS, "What it draws, in place of the `power` of the cell.",
        "power: {working: 700 W, idle: 250 W}"),
))  # fmt: skip

ZONE = Table("a zone", "A space that robots share with people.", (
    Key("robots", ListOf(REFERENCE, lone=True), "The robots that move in it.", "robots: [R1]", required=True),
    Key("people_at", ListOf(REFERENCE, lone=True),
        "Stations, stores or points at which somebody who works is inside.", "people_at: [load]",
        required=True),
    Key("inside", INSIDE, "What the robots do while somebody is inside.", "inside: slows to 40 %",
        default="stops", why="a fenced robot stands while somebody is inside"),
    Key("restart", TIME, "Time after the last one has left until the robots move again.", "restart: 10 s"),
))  # fmt: skip
