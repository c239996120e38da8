using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Every kind of part. A new kind is one file and one line here.</summary>
internal static class PartKinds
{
    public static readonly ImmutableArray<PartKind> All =
    [
        new ResistorKind(),
        new CapacitorKind(),
        new InductorKind(),
        new TrimmerKind(),
        new ReferenceKind(),
        new VoltageKind(),
        new CurrentKind(),
        new OpAmpKind(),
        new InstrumentationAmplifierKind(),
        new IsolationAmplifierKind(),
        new SwitchKind(),
        new JumperKind(),
        new LinkKind(),
        new DiodeKind(),
        new ZenerKind(),
        new TransistorKind(),
        new LeakageKind(),
    ];

    /// <summary>Every kind, and blocks.</summary>
    public static readonly PartShape Shape = new([.. All.Select(k => k.Shape), Block.Shape]);

    private static readonly Dictionary<MapShape, PartKind> ByShape = All.ToDictionary(k => k.Shape);

    /// <summary>The kind that a shape belongs to; null for a block.</summary>
    public static PartKind? Of(MapShape shape) => ByShape.GetValueOrDefault(shape);
}
