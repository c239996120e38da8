using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Every number of an instrument that may move, numbered once.</summary>
public sealed class ParameterSet
{
    private readonly Dictionary<Parameter, int> _index;

    public ParameterSet(IEnumerable<Parameter> parameters)
    {
        All = [.. parameters.Distinct<Parameter>(ReferenceEqualityComparer.Instance)];
        _index = new Dictionary<Parameter, int>(ReferenceEqualityComparer.Instance);
        for (int i = 0; i < All.Length; i++)
        {
            _index.Add(All[i], i);
        }
    }

    public ImmutableArray<Parameter> All { get; }

    public int Count => All.Length;

    public Parameter this[int index] => All[index];

    /// <exception cref="KeyNotFoundException">A part used a parameter that it does not list.</exception>
    public int IndexOf(Parameter parameter) => _index[parameter];

    /// <summary>Least value a good unit has; an open side counts as the stated value, since only the closed side is a promise that can hurt.</summary>
    public double Low(int index) => double.IsFinite(All[index].Quantity.Low) ? All[index].Quantity.Low : All[index].Quantity.Value;

    /// <summary>Greatest value a good unit has; see <see cref="Low"/>.</summary>
    public double High(int index) => double.IsFinite(All[index].Quantity.High) ? All[index].Quantity.High : All[index].Quantity.Value;
}
