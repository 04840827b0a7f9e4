"""Keys that people write for others, which no comparison of letters would find."""

# (table, key that people write) -> the key that they mean
MEANT = {
    ("post", "count"): "people",
    ("post", "number"): "people",
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
