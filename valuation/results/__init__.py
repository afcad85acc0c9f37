"""What is answered: frozen results, ready to print, show or save."""
