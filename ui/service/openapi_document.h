#pragma once

namespace islebook {

extern const char* const kOpenApiDocument;  // openapi.json

}  // namespace islebook
