"""Pictures of an analysis: a run in 3D colored by pulling tension, with its limit in sight.

Nothing is calculated here: what is drawn comes from an `analyzer.analysis.Analysis`. Building a
scene (`viewer.scene`) and showing it (`viewer.image`, `viewer.window`) are separate. This
package loads no graphics library until a picture is drawn.
"""

from __future__ import annotations

__all__: list[str] = []
