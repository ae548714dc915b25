// the page's script
