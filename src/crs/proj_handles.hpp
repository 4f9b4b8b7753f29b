// SPDX-License-Identifier: Apache-2.0
// PROJ's handles with an owner. Each context belongs to one thread at a time and logs nothing.
#pragma once

#include <memory>
#include <string>

#include <proj.h>

namespace evendrip {

struct ProjDeleter {
  void operator()(PJ_CONTEXT* context) const { proj_context_destroy(context); }
  void operator()(PJ* object) const { proj_destroy(object); }
  void operator()(PJ_OPERATION_FACTORY_CONTEXT* factory) const {
    proj_operation_factory_context_destroy(factory);
  }
  void operator()(PJ_OBJ_LIST* list) const { proj_list_destroy(list); }
};
using ProjContext = std::unique_ptr<PJ_CONTEXT, ProjDeleter>;
using ProjObject = std::unique_ptr<PJ, ProjDeleter>;

inline ProjContext quiet_proj_context() {
  ProjContext context(proj_context_create());
  proj_log_func(context.get(), nullptr, [](void*, int, const char*) {});
  return context;
}

}  // namespace evendrip
