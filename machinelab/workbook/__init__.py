"""The workbook: machine file, logs, verdicts, record, sharing, figures and panels."""
