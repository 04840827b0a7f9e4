"""Let a failing comparison inside the shared helper show both sides."""

import pytest

pytest.register_assert_rewrite("tracing", "both_clocks")
