"""Failing assertions of the cases are told in full, as those of the test itself are."""

import pytest

pytest.register_assert_rewrite("requirements.weights", "requirements.entering", "requirements.changes")
pytest.register_assert_rewrite("requirements.classes")
