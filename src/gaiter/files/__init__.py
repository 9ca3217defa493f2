"""Reading and writing of case, plan and policy files."""
