"""Engine: what each key of a kind is looked for by: rules over the rows of a sheet, a file for each family of kinds."""
