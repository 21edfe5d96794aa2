// SPDX-License-Identifier: MIT
#include "tests_seq/procedures/readings_text.hpp"

#include "limits/documents/json_writer.hpp"

namespace benchward {

std::string identity_json(std::vector<std::pair<std::string, Identity>> const& found) {
  JsonWriter json;
  json.begin_object().key("instruments").begin_list();
  for (auto const& [name, identity] : found) {
    json.begin_object()
        .field("name", name)
        .field("maker", identity.maker)
        .field("model", identity.model)
        .field("serial", identity.serial)
        .field("firmware", identity.firmware)
        .end_object();
  }
  json.end_list().end_object();
  return json.text();
}

}  // namespace benchward
