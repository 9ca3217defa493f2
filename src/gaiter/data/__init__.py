"""Files that come with the program: policy, catalogue, schemas, fonts, sheets."""
