"""A passage clapped over and over at the page: laid out, and told of while it goes on."""
