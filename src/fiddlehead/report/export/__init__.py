"""Results as files: tables, mesh series, and records that load again."""
