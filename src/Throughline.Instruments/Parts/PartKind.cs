namespace Throughline.Instruments;

/// <summary>A kind of part: what may be written and how it becomes a <see cref="Part"/>. One file per kind, registered in <see cref="PartKinds"/>.</summary>
internal abstract class PartKind
{
    /// <summary>What may be written; its title is the key that names the kind.</summary>
    public abstract MapShape Shape { get; }

    /// <summary>Builds the part from a map whose shape was checked; null when something it can't do without is missing or wrong, which is
    /// reported already.</summary>
    public abstract Part? Read(Located<string> name, MapView map);

    /// <summary>The key under which a part says how its value ages; see <see cref="Laws.Ageing"/>.</summary>
    protected static Key Ages() => Key.Optional(Laws.AgeingKey, Shapes.Ageing, "How far its value may drift with time after the calibration, in either direction.", "not at all");

    /// <summary>The key under which a two-terminal part names its nodes.</summary>
    protected static Key Between(string doc = "Its two nodes.") => Key.Required("between", Shapes.Pair, doc);
}
