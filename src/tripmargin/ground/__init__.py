"""Units, quantities, errors, results and tables: what every room above needs."""
