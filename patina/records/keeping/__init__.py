"""A studio kept: proved, saved, put back, rescued, handed out as rows."""
