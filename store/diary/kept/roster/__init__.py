"""Who works when and is away, public holidays, how long visits take."""
