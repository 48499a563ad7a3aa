"""What is asked at a review, of the patient alone, about a top-up, and of many reviews together."""
