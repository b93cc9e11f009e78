// The one place that starts the page of the API: its description comes from this server, and nothing else is asked.
SwaggerUIBundle({
  url: "openapi.json",
  dom_id: "#api",
  deepLinking: true,
  validatorUrl: null,
});
