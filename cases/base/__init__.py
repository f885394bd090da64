"""What every subject uses and none owns: units, tables, faults, figures, pages, output, workers."""
