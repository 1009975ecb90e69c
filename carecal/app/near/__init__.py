"""What each plant gives to the rounds of the coming days, kept so that an entry plans one plant alone."""
