"""Keys that people write for others, which no comparison of letters would find."""

# (table, key that people write) -> the key that they mean
MEANT = {
    **dict.fromkeys(
        [
            ("cell_file", written)
            for written in ("people", "persons", "workers", "operators", "staff", "team", "posts", "labour")
        ],
        "crew",
    ),
    ("cell_file", "machines"): "stations",
    ("cell_file", "workplaces"): "stations",
    ("cell_file", "benches"): "stations",
    ("cell_file", "buffers"): "stores",
    ("cell_file", "breaks"): "shifts",
    ("cell_file", "calendar"): "shifts",
    ("cell_file", "sequence"): "route",
    ("cell_file", "flow"): "route",
    ("cell_file", "demand"): "target",
    ("post", "count"): "people",
    ("post", "number"): "people",
    ("post", "can"): "skills",
    ("post", "stations"): "works_at",
    ("station", "count"): "machines",
    ("station", "people"): "by",
    ("station", "operator"): "by",
    ("station", "time"): "cycle",
    ("store", "size"): "places",
    ("store", "capacity"): "places",
    ("work_element", "operator"): "by",
    ("stop", "mtbf"): "every",
    ("stop", "mttr"): "lasts",
    ("stop", "duration"): "lasts",
}
