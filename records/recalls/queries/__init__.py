"""What a case reaches, who is to be told, what is to be pulled, and where it stands."""
