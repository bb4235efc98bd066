"""From a Block to Sheets: what is cut or drawn, where, in which order."""
