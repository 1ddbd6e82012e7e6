"""The answer to a check as one JSON document; `report_schema` says what it holds."""

from collections.abc import Iterable
from typing import Any

from tarebook.judge.findings import Finding, LimitAnswer, Report, Row
from tarebook.rules.reading import RuleSet


def report_document(report: Report, rules: Iterable[RuleSet]) -> dict[str, Any]:
    """The report as plain data, masses in kg."""
    sources = {(each.id, each.edition): each.source for each in rules}
    receipt = report.receipt
    return {
        "format": receipt.report_format,
        "receipt": {
            "tool_version": receipt.tool_version,
            "on": sorted({row.on.isoformat() for row in report.rows}),
            "car": {"name": receipt.car, "file": receipt.car_file.name, "sha256": receipt.car_file.sha256},
            "rules": [
                {
                    "book": book.book,
                    "title": book.title,
                    "edition": book.edition,
                    "bulletins": [],
                    "file": book.file.name,
                    "sha256": book.file.sha256,
                }
                for book in receipt.books
            ],
        },
        "rows": [_row(row, sources[(row.book, row.edition)]) for row in report.rows],
    }


def _row(row: Row, source: Any) -> dict[str, Any]:
    return {
        "book": row.book,
        "edition": row.edition,
        "class": row.class_id,
        "title": row.title,
        "build": row.build,
        "on": row.on.isoformat(),
        "verdict": row.verdict,
        "to_ask": row.to_ask,
        "facts_to_find": list(row.facts_to_find),
        "limits": [_limit(limit, source) for limit in row.limits],
        "findings": [_finding(finding, source) for finding in row.findings],
    }


def _limit(limit: LimitAnswer, source: Any) -> dict[str, Any]:
    return {
        "clause": limit.clause,
        "which": limit.which,
        "limit_kg": limit.limit_kg,
        "mass_kg": limit.mass_kg,
        "mass_u_kg": limit.mass_u_kg,
        "margin_kg": limit.margin_kg,
        "margin_low_kg": limit.margin_low_kg,
        "margin_high_kg": limit.margin_high_kg,
        "chance": limit.chance,
        "verdict": limit.verdict,
        "source": {"file": source.name, "line": source.line(limit.path)},
    }


def _finding(finding: Finding, source: Any) -> dict[str, Any]:
    return {
        "result": finding.result,
        "clause": finding.clause,
        "clauses": list(finding.clauses),
        "form": finding.form,
        "part": finding.part,
        "kind": finding.kind,
        "does": finding.does,
        "says": finding.says,
        "sentence": finding.sentence,
        "facts": finding.facts,
        "unknown": list(finding.unknown),
        "duties": list(finding.duties),
        "contested": list(finding.contested),
        "source": {"file": source.name, "line": source.line(finding.path)},
    }
