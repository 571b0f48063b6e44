"""The JSON API: jobs, their changes, plans and sheets, for programs that come with a key."""
