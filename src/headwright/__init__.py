"""Choose, check and prove the cylinder head before metal is cut."""
