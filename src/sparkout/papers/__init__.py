"""What is printed: the job card."""
