"""Parts and jobs as spreadsheets: CSV out of a car file, and CSV of one's own into one.

text = export_csv(load_car("heron.toml"), "part")
table = recognised(read_csv(Path("parts.csv")), "part")
plan = plan_import(load_car("heron.toml"), [table])     # nothing is written yet
write_edited("heron.toml", plan.edited)                 # from tarebook.car.editing
"""

from tarebook.car.spreadsheet.csv_text import CsvText, parse_csv, read_csv
from tarebook.car.spreadsheet.exporting import export_csv
from tarebook.car.spreadsheet.importing import NewEntry, Plan, plan_import
from tarebook.car.spreadsheet.recognising import Table, recognised
from tarebook.car.spreadsheet.refusals import SpreadsheetRefused

__all__ = [
    "CsvText",
    "NewEntry",
    "Plan",
    "SpreadsheetRefused",
    "Table",
    "export_csv",
    "parse_csv",
    "plan_import",
    "read_csv",
    "recognised",
]
