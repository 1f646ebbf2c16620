"""What people see: tables, plots, drawings, pages."""
