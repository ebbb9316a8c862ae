"""A class, told: a row a student, a column a bar."""
