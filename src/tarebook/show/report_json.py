"""The answer to a check as one JSON document; `report_schema` says what it holds."""

from typing import Any

from tarebook.judge.findings import Finding, LimitAnswer, Report, Row
from tarebook.rules.reading import RuleSet


def report_document(report: Report) -> dict[str, Any]:
    """The report as plain data, masses in kg."""
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
                    "bulletins": [each.number for each in book.bulletins],
                    "bulletin_files": [
                        {
                            "number": each.number,
                            "proposed": each.proposed,
                            "file": each.file.name,
                            "sha256": each.file.sha256,
                        }
                        for each in book.bulletins
                    ],
                    "file": book.file.name,
                    "sha256": book.file.sha256,
                }
                for book in receipt.books
            ],
        },
        "rows": [_row(row) for row in report.rows],
    }


def _row(row: Row) -> dict[str, Any]:
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
        "without_bulletin": [{"number": number, "verdict": verdict} for number, verdict in row.without],
        "limits": [_limit(limit, row.rules) for limit in row.limits],
        "findings": [_finding(finding, row.rules) for finding in row.findings],
    }


def _source(path: tuple[str | int, ...], rules: RuleSet) -> dict[str, Any]:
    file, line = rules.source.where(path)
    return {"file": file, "line": line}


def _limit(limit: LimitAnswer, rules: RuleSet) -> dict[str, Any]:
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
        "bulletins": list(rules.writers(limit.path)),
        "source": _source(limit.path, rules),
    }


def _finding(finding: Finding, rules: RuleSet) -> dict[str, Any]:
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
        "bulletins": list(rules.writers(finding.path)),
        "source": _source(finding.path, rules),
    }
