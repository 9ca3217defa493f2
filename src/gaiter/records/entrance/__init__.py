"""Who is at the door: signed-in browsers and counted tries, which pass and are no record."""
